"""Seals that are used once, products that cure, and the waits between."""

from datetime import timedelta

import pytest

from companion.job.facts.commands import Command
from companion.job.facts.ids import cure_id
from companion.job.facts.sayings import Priority
from companion.job.rules.gates import refusal


def test_a_joint_is_not_closed_on_its_old_seal(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.DONE)
    assert mechanic.says(Command.DONE) == ['Not yet: new sump gasket? Say "new seal fitted".']
    assert mechanic.state_is("seal is fit to use")[0].startswith("No: this step wants something else")
    mechanic.says(Command.SKIP, reason="the old one looks fine")
    mechanic.says(Command.DONE)
    assert mechanic.state.current == "new-gasket"
    assert any(
        "Sump gasket is not renewed" in s.text or "must be renewed" in s.text for s in mechanic.sayings
    )
    shut = refusal(mechanic.state, mechanic.procedure.step("sump-on"), mechanic.now.wall)
    assert shut is not None


def test_a_new_seal_can_be_taken_back(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.DONE)
    mechanic.state_is("new seal fitted")
    assert "sump-gasket" not in mechanic.state.open_seals
    mechanic.says(Command.UNDO)
    assert "sump-gasket" in mechanic.state.open_seals
    assert mechanic.state.current == "new-gasket"


def at_the_ring(mechanic) -> None:
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    mechanic.says(Command.DONE)
    mechanic.says(Command.NO)


def test_a_seal_to_inspect_wants_a_verdict(mechanic):
    at_the_ring(mechanic)
    assert mechanic.says(Command.DONE)[0].startswith("Not yet: is the filler cap ring fit to use? Say")
    mechanic.state_is("seal is fit to use")
    assert "cap-ring" not in mechanic.state.open_seals


def test_a_bad_verdict_leaves_only_a_new_seal(mechanic):
    at_the_ring(mechanic)
    mechanic.state_is("renew the seal")
    mechanic.state_is("seal is fit to use")
    assert "cap-ring" in mechanic.state.open_seals
    mechanic.state_is("new seal fitted")
    assert mechanic.state.is_done("ring")


def test_a_missing_part_is_asked_for_before_its_joint_is_opened(mechanic):
    mechanic.opens()
    assert mechanic.says(Command.NO)[0].startswith("Missing, then.")
    mechanic.state_is("battery disconnected")
    mechanic.waits(minutes=3)
    mechanic.reads("0.1")
    mechanic.state_is("oil drained")
    assert mechanic.says(Command.DONE)[-1].endswith("Is the new sump gasket on the bench now? Yes or no?")
    mechanic.says(Command.NO)
    assert mechanic.state.current is None
    assert mechanic.says(Command.CARRY_ON)[-1].startswith("Is the new sump gasket on the bench now?")
    mechanic.says(Command.YES)
    assert mechanic.state.current == "sump-off"


def test_work_that_does_not_wait_for_the_cure_is_offered_meanwhile(mechanic):
    at_the_ring(mechanic)
    assert mechanic.state.current == "ring"
    said = mechanic.state_is("seal is fit to use")
    assert said[-1].endswith("Nothing else can be done yet: the cure of the flange sealant has 2 h left.")
    assert mechanic.waits(hours=1, minutes=50) == []
    said = mechanic.waits(minutes=10)
    assert said[0] == "The flange sealant has cured."
    assert "prove again that the battery is dead" not in " ".join(said)
    assert mechanic.state.current == "refill"


def test_the_cure_starts_at_assembly(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.DONE)
    mechanic.state_is("new seal fitted")
    mechanic.waits(minutes=1)
    mechanic.says(Command.DONE)
    mechanic.waits(minutes=5)
    mechanic.says(Command.DONE)
    mechanic.says(Command.DONE)
    cure = mechanic.state.deadlines[cure_id("sump-on")]
    assert cure.due == mechanic.now.wall + timedelta(hours=2)


@pytest.fixture
def applied(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.DONE)
    mechanic.state_is("new seal fitted")
    assert mechanic.says(Command.DONE)[0].startswith("Step 8 done. Assemble within 10 min.")
    return mechanic


def test_a_skin_over_about_to_pass_is_urgent(applied):
    assert applied.waits(minutes=6, seconds=59) == []
    assert applied.waits(seconds=1) == ["Open time of the flange sealant, 3 min left. Assemble now."]
    assert applied.sayings[-1].priority is Priority.URGENT


def test_what_has_skinned_over_is_applied_again(applied):
    applied.waits(minutes=10)
    said = applied.says(Command.DONE)
    assert said[0] == "Not yet: the flange sealant has skinned over; clean it off and apply it again."
    assert applied.state.current == "seal"
    applied.says(Command.DONE)
    applied.says(Command.DONE)
    applied.says(Command.DONE)
    assert applied.state.is_done("sump-on")


def test_acknowledging_the_skin_over_does_not_make_it_fresh(applied):
    applied.waits(minutes=10)
    applied.says(Command.GOT_IT)
    applied.says(Command.DONE)
    assert applied.state.current == "seal"


def test_a_joint_taken_apart_again_has_only_the_rest_of_the_open_time(applied):
    applied.waits(minutes=4)
    applied.says(Command.DONE)
    applied.says(Command.DONE)
    assert not any(d.startswith("skin-over") for d in applied.state.deadlines)
    applied.says(Command.UNDO)
    assert cure_id("sump-on") not in applied.state.deadlines
    assert applied.state.current == "sump-on"
    assert applied.state.deadlines["skin-over:seal"].due == applied.now.wall + timedelta(minutes=6)
    applied.waits(minutes=6)
    applied.says(Command.DONE)
    assert applied.state.current == "seal"


def test_a_machine_off_for_nobody_knows_how_long_makes_the_sealant_doubtful(applied):
    applied.set_clock(hours=-3)
    said = applied.opens(boot="boot-2")
    assert any("has skinned over" in text for text in said)


def test_no_step_waits_for_the_cure_of_a_step_that_was_declined(procedure, mechanic_for):
    steps = [s.model_dump() for s in procedure.steps]
    by_id = {s["id"]: s for s in steps}
    by_id["tidy"]["applies"] = {"consumable": "paste"}
    by_id["refill"]["waits_for"] = ["tidy"]
    by_id["refill"]["after"] = ["plug", "ring", "tidy"]
    data = procedure.model_dump()
    paste = {**data["consumables"]["sealant"], "clock_starts": "application", "skin_over": None}
    changed = {**data, "steps": steps, "consumables": {**data["consumables"], "paste": paste}}
    mechanic = mechanic_for(procedure.model_validate(changed))
    at_the_ring(mechanic)
    mechanic.state_is("seal is fit to use")
    assert mechanic.state.current == "refill"


def test_a_cold_shop_is_told_why_it_waits_longer(mechanic):
    mechanic.ambient_c = 13
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    assert any(
        "cures for 4 h, longer than the data sheet's 2 h: cold workshop." in s.text for s in mechanic.sayings
    )


def test_dry_air_is_told_beside_the_cold(mechanic):
    mechanic.ambient_c, mechanic.humidity = 13, 25
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    longer = "cures for 8 h, longer than the data sheet's 2 h: cold workshop and dry air."
    assert any(longer in s.text for s in mechanic.sayings)
