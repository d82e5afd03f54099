"""Leaving something out for good: named, asked back, told why, kept on every list, and taken back."""

from datetime import timedelta

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import fold
from companion.job.facts.instant import Instant
from companion.job.facts.said import questions as q
from companion.job.facts.state import How
from companion.job.rules.ledger import left_out, open_things
from companion.papers.handover import as_text, handover
from tests.helpers.said import unsure
from tests.job.buried.working import (
    BRAKES,
    COOLANT,
    SUMP,
    TOLD,
    WHY,
    at,
    at_step,
    leaves_out,
    refused,
    work_until,
)
from tests.job.conftest import Mechanic
from tests.procedure.jobs import CIRCUIT, COVER_AND_CORE, PANELS, job, step


@pytest.fixture
def without_strainer() -> Mechanic:
    mechanic = at(SUMP, "fit-strainer")
    leaves_out(mechanic, "strainer")
    return mechanic


class TestTheWay:
    def test_it_is_named_with_what_goes_with_it_and_asked_back(self):
        mechanic = at(SUMP, "fit-strainer")
        said = mechanic.says(Command.LEAVE_OUT, item="the oil strainer")
        assert said == ["Leave the oil strainer out for good, and the strainer ring with it? Yes or no?"]

    def test_no_leaves_it_to_be_put_back(self):
        mechanic = at(SUMP, "fit-strainer")
        mechanic.says(Command.LEAVE_OUT, item="strainer")
        assert mechanic.says(Command.NO) == ["Then it is still to be put back."]
        assert mechanic.state.current == "fit-strainer"
        assert "strainer" in mechanic.state.open_items

    def test_a_reason_is_needed(self):
        mechanic = at(SUMP, "fit-strainer")
        mechanic.says(Command.LEAVE_OUT)
        mechanic.says(Command.YES)
        assert mechanic.says(Command.WORDS, text="") == ["I need a reason to leave it out. Why?"]
        assert not mechanic.happened(ev.ItemLeftOut)
        assert mechanic.says(Command.NO) == ["Dropped."]
        assert "strainer" in mechanic.state.open_items

    def test_it_is_logged_with_who_and_why_and_the_work_goes_on(self, without_strainer):
        assert without_strainer.happened(ev.ItemLeftOut) == [
            ev.ItemLeftOut(item="strainer", reason=WHY, by="Ana")
        ]
        assert without_strainer.state.current == "scrape-faces"
        assert without_strainer.state.settled["fit-strainer"].how is How.SKIPPED

    def test_it_holds_back_nothing_any_more(self, without_strainer):
        work_until(without_strainer, lambda state: state.closed)
        assert without_strainer.state.settled["fit-sump"].how is How.DONE
        assert without_strainer.state.left_out["strainer"].because == WHY

    def test_one_that_was_skipped_before_can_be_left_out_later(self):
        mechanic = at(SUMP, "fit-strainer")
        mechanic.says(Command.SKIP, reason="later")
        assert mechanic.state.current == "scrape-faces"
        leaves_out(mechanic)
        assert mechanic.state.current == "scrape-faces"
        assert "strainer" in mechanic.state.left_out

    def test_all_that_one_step_puts_back_goes_together(self):
        mechanic = at(COOLANT, "fit-fan-cowl")
        said = mechanic.says(Command.LEAVE_OUT, item="fan cowl")
        assert said == ["Leave the fan connector and the fan cowl out for good? Yes or no?"]

    def test_the_companion_names_it_when_it_comes_back(self):
        mechanic = at(SUMP, "fit-strainer")
        mechanic.says(Command.SKIP, reason="later")
        work_until(mechanic, at_step(SUMP.step("fit-strainer")))
        number = SUMP.number("fit-strainer")
        ways = "do it now, say waiting for a part, or say leave the oil strainer out"
        assert f"Back to step {number}: {ways}." in [s.text for s in mechanic.sayings]


class TestItIsNeverForgotten:
    def test_what_is_open(self, without_strainer):
        assert TOLD in without_strainer.says(Command.WHAT_IS_OPEN)

    def test_the_briefing_at_a_hold_and_after_a_night(self, without_strainer):
        assert TOLD in without_strainer.says(Command.HOLD)
        without_strainer.passes(hours=15)
        without_strainer.now = Instant(without_strainer.now.wall, timedelta(minutes=1))
        assert TOLD in without_strainer.opens(boot="boot-2")

    def test_the_closing_words(self, without_strainer):
        work_until(without_strainer, lambda state: isinstance(state.question, q.Close))
        last = [s.text for s in without_strainer.sayings[-4:]]
        assert last.count(TOLD) == 2
        assert TOLD in without_strainer.says(Command.YES)

    def test_the_handover(self, without_strainer):
        state, now = without_strainer.state, without_strainer.now.wall
        page = handover(state, [], now, lambda moment: f"{moment:%H:%M}")
        told = as_text(page)
        place = told.index("Left out for good")
        decided = state.left_out["strainer"].at
        assert told[place + 1] == f"  - {TOLD} Decided by Ana, {decided:%H:%M}."
        assert any("strainer bolts: bag six" in line for line in told)

    def test_the_ledger_keeps_it_apart(self, without_strainer):
        assert "strainer" not in {thing.id for thing in open_things(without_strainer.state)}
        assert [thing.text for thing in left_out(without_strainer.state)] == ["the oil strainer is left out"]


class TestTakingItBack:
    def test_undo_takes_it_back_first(self, without_strainer):
        said = without_strainer.says(Command.UNDO)
        assert said[0] == "The oil strainer is not left out any more."
        assert without_strainer.happened(ev.LeftOutTakenBack) == [ev.LeftOutTakenBack(item="strainer")]
        assert "strainer" in without_strainer.state.open_items
        assert "strainer-ring" in without_strainer.state.open_seals
        assert without_strainer.state.current == "fit-strainer"

    def test_undo_takes_back_what_was_left_out_later_than_skipped(self):
        mechanic = at(SUMP, "fit-strainer")
        mechanic.says(Command.SKIP, reason="later")
        mechanic.says(Command.DONE)
        leaves_out(mechanic, "strainer")
        mechanic.says(Command.UNDO)
        assert mechanic.state.current == "fit-strainer"
        assert mechanic.state.is_done("scrape-faces")

    def test_doing_the_step_after_all_wants_its_seal_renewed(self, without_strainer):
        without_strainer.says(Command.UNDO)
        without_strainer.says(Command.DONE)
        said = without_strainer.says(Command.DONE)
        assert any("strainer ring" in text for text in said)
        work_until(without_strainer, lambda state: state.closed)
        assert not without_strainer.state.left_out

    def test_cut_off_at_any_event_it_is_left_out_or_open_and_never_neither(self, without_strainer):
        without_strainer.says(Command.UNDO)
        events, state = without_strainer.events, Mechanic(SUMP).state
        known = False
        for event, moment in events:
            state = fold(state, event, moment)
            known = known or "strainer" in state.open_items
            if known:
                assert ("strainer" in state.open_items) != ("strainer" in state.left_out)
            if "strainer" in state.left_out:
                assert "fit-strainer" in state.settled


class TestWhatMayNotBeLeftOut:
    def test_energy(self):
        mechanic = at(COOLANT, "restore-pressure")
        never = "makes energy safe or brings it back, and is never left out."
        assert refused(mechanic).endswith(never)
        assert refused(mechanic, "expansion tank").endswith(never)
        assert "brought back, never left out" in refused(mechanic, "the battery")

    def test_a_single_use_seal_by_itself(self):
        mechanic = at(SUMP, "fit-passage-ring")
        assert "a seal is not left out by itself" in refused(mechanic, "oil passage ring")
        assert refused(mechanic) == "Nothing of it is open."

    def test_a_step_with_a_danger(self):
        danger = {"signal": "DANGER", "hazard": "It falls.", "avoid": "Hold it."}
        steps = [*COVER_AND_CORE[:2], {**COVER_AND_CORE[2], "hazards": [danger], "state": "core is in"}]
        mechanic = at(job(PANELS, *steps, COVER_AND_CORE[3]), "core-in")
        assert refused(mechanic) == "No: step 3 is marked DANGER, and is never left out."

    @pytest.mark.parametrize(
        ("procedure", "step_id", "because"),
        [
            (
                SUMP,
                "fit-filter",
                "the oil filter seat is open, and step 34 still fills or bleeds",
            ),
            (SUMP, "fill-oil", "the engine oil is drained, and step 36 still runs the engine"),
            (SUMP, "tighten-sump", "the sump bolts are out, which hold the "),
            (COOLANT, "push-top-hose", "the top hose is off, and step 39 still fills or bleeds"),
        ],
    )
    def test_what_would_leak(self, procedure, step_id, because):
        mechanic = at(procedure, step_id)
        mechanic.says(Command.LEAVE_OUT)  # After the long wait the proof is asked for first.
        work_until(mechanic, at_step(procedure.step(step_id)))
        assert because in refused(mechanic)

    def test_what_lives_hang_on(self):
        mechanic = at(BRAKES, "fit-left-carrier")
        assert refused(mechanic) == "No: lives may hang on step 20, and it is never left out."
        mechanic.says(Command.SKIP, reason="the bolt is worn")
        assert "never left out" in refused(mechanic, "left carrier")

    def test_a_step_of_which_the_file_says_so(self):
        mechanic = at(COOLANT, "fit-pulley")
        assert refused(mechanic).endswith("and it is never left out.")

    def test_what_would_leak_when_the_pressure_comes_back(self):
        energy = {"fuel": {"name": "fuel pressure", "source": "fuel pressure", "circuit": "fuel"}}
        off, on = step("line-off", "disconnect", opens="line"), step("line-on", "connect", closes="line")
        made = step("fuel-off", "isolate", isolates="fuel", state="fuel is off")
        dead = step("fuel-gone", "verify", proves="fuel", state="fuel is gone")
        back = step("fuel-on", "restore", restores="fuel", state="fuel is on")
        mechanic = at(job(CIRCUIT, made, dead, off, on, back, energy=energy), "line-on")
        assert refused(mechanic) == "No: the line is off, and step 5 still brings the pressure back."

    def test_a_support(self):
        items = {"prop": {"kind": "support"}}
        steps = step("prop-in", "fit", opens="prop"), step("prop-out", "remove", closes="prop")
        assert refused(at(job(items, *steps), "prop-out")) == "No: the prop must come away again."

    def test_what_is_not_open_or_not_yet_to_be_closed(self):
        mechanic = at(SUMP, "fit-strainer")
        assert refused(mechanic, "radio") == "Nothing called radio is open."
        assert "is still to come" in refused(mechanic, "undertray")

    def test_what_two_things_are_called(self):
        items = {"a": {"kind": "part", "name": "left cap"}, "b": {"kind": "part", "name": "right cap"}}
        steps = [step("a-out", "remove", opens="a"), step("b-out", "remove", opens="b")]
        steps += [step("b-in", "fit", closes="b"), step("a-in", "fit", closes="a")]
        mechanic = at(job(items, *steps), "b-in")
        assert "more than one thing is called that: say left cap and right cap" in refused(mechanic, "cap")

    def test_what_was_not_clearly_heard(self):
        mechanic = at(SUMP, "fit-strainer")
        mechanic.post(unsure(Command.LEAVE_OUT, {"item": "oil strainer"}, "leave the oil strainer out", 0.5))
        assert mechanic.state.question is None
        mechanic.says(Command.LEAVE_OUT)
        mechanic.post(msg.Unsure(Command.YES, None, "yes", 0.5))
        assert isinstance(mechanic.state.question, q.LeaveOut)
        assert "strainer" in mechanic.state.open_items

    def test_anything_while_the_job_is_held(self):
        mechanic = at(SUMP, "fit-strainer")
        mechanic.says(Command.HOLD)
        assert "the job is held" in refused(mechanic, "strainer")
