"""From step to step, as a mechanic goes through the small job."""

from datetime import timedelta

import pytest

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.energy import EnergyState
from companion.job.facts.folding import fold
from companion.job.facts.state import How
from companion.job.rules.expected import expected


def test_greets_asks_for_the_parts_and_reads_the_first_step(mechanic):
    said = mechanic.opens()
    assert said[0].startswith("Small sump job, 14 steps.")
    assert said[-1] == "Is the new sump gasket on the bench? Yes or no?"
    said = mechanic.says(Command.YES)
    assert said[0] == "Step 1: Take the battery earth lead off."
    assert 'battery disconnected"' in said[1]


def test_a_bare_done_never_passes_a_step_that_wants_a_spoken_state(mechanic):
    mechanic.opens()
    mechanic.says(Command.YES)
    assert mechanic.says(Command.DONE) == ['Not yet: say "battery disconnected".']
    assert mechanic.state_is("battery connected")[0].startswith("No: this step wants something else")
    assert mechanic.state.current == "battery-off"
    mechanic.state_is("battery disconnected")
    assert mechanic.state.is_done("battery-off")


def test_work_that_needs_no_isolation_is_offered_during_the_isolation_wait(new_mechanic, procedure):
    steps = [s.model_dump() for s in procedure.steps]
    for step in steps:
        if step["id"] == "tidy":
            step["after"] = []
    mechanic = new_mechanic()
    mechanic.procedure = procedure.model_validate({**procedure.model_dump(), "steps": steps})
    mechanic.__post_init__()
    mechanic.opens()
    mechanic.says(Command.YES)
    said = mechanic.state_is("battery disconnected")
    assert said[-1].endswith("While it is off: look over the liner? Yes or no?")


def test_each_bolt_is_counted_in_turn(mechanic):
    mechanic.isolates_the_battery()
    mechanic.state_is("oil drained")
    mechanic.says(Command.DONE)
    assert mechanic.says(Command.DONE)[0].startswith("Not yet: none of 3 counted")
    assert mechanic.says(Command.COUNT, number="2") == ["No: none counted so far, 1 is next."]
    assert mechanic.says(Command.COUNT, number="1") == ["1."]
    assert mechanic.says(Command.COUNT, number="1") == ["No: 1 counted so far, 2 is next."]
    mechanic.says(Command.UNDO)
    assert mechanic.state.counted == 0
    for number in "123":
        mechanic.says(Command.COUNT, number=number)
    assert mechanic.state.is_done("sump-off")


@pytest.mark.parametrize("number", ["", "²", "-1", "0", "three", "9" * 5000])
def test_a_count_that_is_no_number_is_refused(mechanic, number):
    mechanic.isolates_the_battery()
    mechanic.state_is("oil drained")
    mechanic.says(Command.DONE)
    mechanic.says(Command.COUNT, number=number)
    assert mechanic.state.counted == 0


def test_torques_are_given_one_stage_at_a_time(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.DONE)
    mechanic.state_is("new seal fitted")
    said = mechanic.says(Command.DONE)
    assert said[-1] == "Stage 1 of 2: 3 sump bolts, 5 N·m."
    assert mechanic.says(Command.WHAT_TORQUE) == ["Stage 1 of 2: 3 sump bolts, 5 N·m."]
    assert mechanic.says(Command.DONE) == ["Stage 2 of 2: 3 sump bolts, 10 N·m."]
    mechanic.says(Command.UNDO)
    assert mechanic.state.stage == 0
    mechanic.says(Command.DONE)
    mechanic.says(Command.DONE)
    assert mechanic.state.is_done("sump-on")


def test_a_skip_wants_a_reason_and_leaves_open_what_the_step_would_have_closed(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    assert mechanic.says(Command.SKIP) == ["Skip step 10. Why?"]
    mechanic.says(Command.WORDS, text="connector is cracked")
    settled = mechanic.state.settled["plug"]
    assert (settled.how, settled.because) == (How.SKIPPED, "connector is cracked")
    assert "sensor" in mechanic.state.open_items


def test_an_optional_step_is_asked_for_and_a_no_can_be_taken_back(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    said = mechanic.says(Command.DONE)
    assert said[-1].endswith("While it is off: look over the liner? Yes or no?")
    mechanic.says(Command.NO)
    assert mechanic.state.settled["tidy"].how is How.NOT_NEEDED
    said = mechanic.says(Command.UNDO)
    assert said[-1].endswith("look over the liner? Yes or no?")
    mechanic.says(Command.YES)
    assert mechanic.state.current == "tidy"


def test_go_back_shows_an_earlier_step_and_moves_nothing(mechanic):
    mechanic.isolates_the_battery()
    said = mechanic.says(Command.GO_BACK)
    assert said[0] == "Step 2: Measure across the leads."
    assert mechanic.says(Command.GO_BACK)[0] == "Step 1: Take the battery earth lead off."
    assert mechanic.says(Command.GO_BACK) == ["No: there is no earlier step."]
    assert mechanic.state_is("oil drained") == ["No: this is an earlier step; say carry on first."]
    assert mechanic.state.current == "drain"
    assert mechanic.says(Command.CARRY_ON)[1] == "Step 3: Drain the oil."
    assert mechanic.happened(ev.LookEnded) == [ev.LookEnded()]


def test_an_old_log_that_ends_a_look_by_one_without_a_step_still_folds(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.GO_BACK)
    line = {
        "schema": 1,
        "seq": 9,
        "at": "2031-03-04T08:00:00Z",
        "mono": 1.0,
        "event": "looked_back",
        "step": None,
    }
    record = ev.Record.from_line(line)
    assert record.line() == line, "and is written as it was"
    assert fold(mechanic.state, record.event, mechanic.now).looking_at is None


def test_undo_of_a_step_looked_at_takes_that_step_back(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.GO_BACK)
    said = mechanic.says(Command.UNDO)
    assert said[0] == "Step 2 is to be done again."
    assert mechanic.state.current == "battery-dead"
    assert mechanic.state.energy_state("battery") is EnergyState.ISOLATING


def test_everything_can_be_undone_to_the_very_first_step(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    for _ in range(40):
        if mechanic.says(Command.UNDO) == ["Nothing has been done yet."]:
            break
        assert not mechanic.state.to_prove
    assert not mechanic.state.settled
    assert mechanic.state.energy_state("battery") is EnergyState.LIVE


def test_what_an_undone_step_closed_is_open_again_and_what_it_opened_may_still_be(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    mechanic.says(Command.DONE)
    assert "sensor" not in mechanic.state.open_items
    mechanic.says(Command.NO)
    mechanic.says(Command.UNDO)
    mechanic.says(Command.NO)
    while mechanic.state.current != "plug":
        mechanic.says(Command.UNDO)
        if mechanic.state.question:
            mechanic.says(Command.NO)
            mechanic.says(Command.GO_BACK)
            mechanic.says(Command.GO_BACK)
    assert "sensor" in mechanic.state.open_items


def test_a_note_is_kept_read_back_dropped_and_taken_again(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.NOTE)
    assert mechanic.says(Command.WORDS, text="drain plug is worn") == ["Noted: drain plug is worn."]
    assert mechanic.state.notes[0].step == "drain"
    assert mechanic.says(Command.AGAIN) == ["Go ahead."]
    mechanic.says(Command.WORDS, text="drain plug is scored")
    assert [note.text for note in mechanic.state.notes] == ["drain plug is scored"]
    assert mechanic.says(Command.SCRATCH_THAT) == ["Note dropped."]
    assert not mechanic.state.notes
    assert mechanic.says(Command.SCRATCH_THAT) == ["No: there is no fresh note."]


def test_a_note_is_not_taken_away_by_a_later_scratch_that(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.NOTE, text="keep this")
    mechanic.says(Command.WHAT_SIZE)
    mechanic.says(Command.SCRATCH_THAT)
    assert len(mechanic.state.notes) == 1


def test_repeat_reads_the_step_or_the_open_question_again(mechanic):
    mechanic.opens()
    assert mechanic.says(Command.REPEAT) == ["Is the new sump gasket on the bench? Yes or no?"]
    mechanic.says(Command.YES)
    assert mechanic.says(Command.REPEAT)[0] == "Step 1: Take the battery earth lead off."


def test_only_what_makes_sense_can_be_said(mechanic):
    mechanic.opens()
    assert Command.DONE not in expected(mechanic.state).commands
    mechanic.says(Command.YES)
    assert expected(mechanic.state).states == ("battery disconnected",)
    mechanic.state_is("battery disconnected")
    assert Command.GOT_IT not in expected(mechanic.state).commands
    mechanic.waits(minutes=3)
    assert expected(mechanic.state).reading == "V"


def test_stop_work_holds_everything_at_any_moment(mechanic, new_mechanic):
    turns = [
        lambda m: m.opens(),
        lambda m: m.says(Command.YES),
        lambda m: m.state_is("battery disconnected"),
        lambda m: m.waits(minutes=3),
        lambda m: m.says(Command.READING, value="0.1"),
        lambda m: m.says(Command.YES),
        lambda m: m.says(Command.NOTE),
        lambda m: m.says(Command.WORDS, text="a note"),
        lambda m: m.says(Command.SKIP),
    ]
    for moment in range(1, len(turns) + 1):
        mechanic = new_mechanic()
        for turn in turns[:moment]:
            turn(mechanic)
        said = mechanic.says(Command.STOP_WORK)
        assert said[0] == "Work stopped. Keep clear."
        assert said[1] in (
            "The battery is live.",
            "The battery is disconnected, but not proved dead.",
            "The battery is disconnected and dead.",
        )
        assert mechanic.state.stopped
        assert mechanic.says(Command.DONE) == ["Not yet: the job is held; say carry on first."]
        assert mechanic.says(Command.YES)[0].startswith("No: ")


def test_how_long_left_goes_by_the_book(mechanic):
    mechanic.isolates_the_battery()
    said = mechanic.says(Command.HOW_LONG_LEFT)
    assert said[0] == "About 1 h 4 min of work left, by the book."


def test_the_work_is_told_to_whoever_learns_from_it(mechanic):
    mechanic.isolates_the_battery()
    begun = mechanic.happened(ev.StepBegun)
    assert [event.step for event in begun] == ["battery-off", "battery-dead", "drain"]
    assert begun[0].book_s == timedelta(minutes=4).total_seconds()
