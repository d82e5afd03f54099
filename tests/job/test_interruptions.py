"""Holds and restarts, unclear words, and a program killed anywhere."""

from datetime import timedelta

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import fold, replay
from companion.job.facts.instant import Instant
from companion.job.facts.said import questions as q
from companion.job.facts.sayings import Priority
from tests.helpers.said import unsure


def test_a_hold_tells_where_everything_stands(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.START_TIMER, minutes="30")
    said = mechanic.says(Command.HOLD)
    assert said[0] == "Job held."
    text = " ".join(said)
    assert "6 things are open: the battery is disconnected and dead." in text
    assert "Timer of 30 min, 30 min left." in text
    assert mechanic.says(Command.DONE) == ["Not yet: the job is held; say carry on first."]
    assert mechanic.says(Command.NOTE, text="back on Monday") == ["Noted: back on Monday."]


def test_a_hold_does_not_stop_the_waits(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.START_TIMER, minutes="30")
    mechanic.says(Command.HOLD)
    assert mechanic.waits(minutes=30) == ["Timer of 30 min is over."]


def test_coming_back_after_days(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.HOLD)
    mechanic.now = Instant(mechanic.now.wall + timedelta(days=3), timedelta(minutes=1))
    said = mechanic.opens(boot="boot-2")
    assert said[0] == "Back to Small sump job after 3 days."
    assert said[1] == "Step 5 was done last: Take the sump off."
    assert said[2].startswith("6 things are open: the battery is disconnected, but not proved dead.")
    assert said[-1].startswith("Before going on, prove again that the battery is dead")
    assert mechanic.reads("0.2")[-1] == "The battery is dead. Step 6: Clean both faces."


def test_a_hiccup_of_the_program_asks_for_no_proof(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.passes(seconds=20)
    said = mechanic.opens()
    assert said[-1] == "Step 6: Clean both faces."
    assert mechanic.state.energy["battery"] == "proved dead"


def test_a_reading_does_not_outlive_the_program(mechanic):
    """Killed after a good reading was logged and before it proved anything: a bare done must not use it."""
    mechanic.opens()
    mechanic.says(Command.YES)
    mechanic.state_is("battery disconnected")
    mechanic.waits(minutes=3)
    before = mechanic.state
    mechanic.reads("0.1")
    taken = next(n for n, (event, _) in enumerate(mechanic.events) if isinstance(event, ev.ReadingTaken))
    mechanic.state = before
    for event, at in mechanic.events[taken - 6 : taken + 1]:
        mechanic.state = fold(mechanic.state, event, at)
    assert mechanic.state.reading is not None
    mechanic.opens()
    assert mechanic.says(Command.DONE)[0].startswith("Not yet: say the reading")


def test_the_wait_of_a_step_that_was_only_just_begun_starts_after_the_proof(mechanic_for, procedure):
    data = procedure.model_dump()
    clean = next(s for s in data["steps"] if s["id"] == "clean")
    clean |= {"act": "wait", "wait": timedelta(minutes=5)}
    mechanic = mechanic_for(procedure.model_validate(data))
    mechanic.isolates_the_battery()
    mechanic.state_is("oil drained")
    mechanic.says(Command.DONE)
    before = mechanic.state
    for number in "123":
        mechanic.says(Command.COUNT, number=number)
    begun = [n for n, (event, _) in enumerate(mechanic.events) if isinstance(event, ev.StepBegun)][-1]
    mechanic.state = before
    for event, at in mechanic.events[: begun + 1]:
        mechanic.state = fold(mechanic.state, event, at)
    assert "wait:clean" not in mechanic.state.deadlines
    mechanic.opens(boot="boot-2")
    mechanic.reads("0.1")
    assert "wait:clean" in mechanic.state.deadlines


def test_a_reminder_that_may_not_have_been_heard_is_told_again_at_the_next_start(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    mechanic.says(Command.DONE)
    mechanic.says(Command.NO)
    mechanic.state_is("seal is fit to use")
    mechanic.waits(hours=2)
    assert "The flange sealant has cured." in mechanic.opens()
    mechanic.says(Command.REPEAT)
    assert "The flange sealant has cured." not in mechanic.opens()


def test_a_start_cut_short_greets_with_the_cautions_again(mechanic):
    first = mechanic.opens()
    assert mechanic.opens() == first


def test_a_question_is_dropped_by_a_hold_and_asked_again_after_it(mechanic):
    mechanic.opens()
    mechanic.says(Command.HOLD)
    assert mechanic.state.question is None
    assert mechanic.says(Command.YES)[0].startswith("No: ")
    assert mechanic.says(Command.CARRY_ON)[-1] == "Is the new sump gasket on the bench? Yes or no?"


def test_a_note_taken_while_a_proof_is_wanted_leads_back_to_the_proof(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.HOLD)
    mechanic.says(Command.CARRY_ON)
    mechanic.says(Command.NOTE)
    said = mechanic.says(Command.WORDS, text="smells of petrol")
    assert said[-1].startswith("Before going on, prove again that the battery is dead")
    assert isinstance(mechanic.state.question, q.Proof)


def test_after_a_long_silence_even_a_question_leads_back_to_the_proof(mechanic):
    mechanic.isolates_the_battery()
    mechanic.passes(hours=2)
    said = mechanic.says(Command.WHAT_SIZE)
    assert said[0] == "No fasteners in this step."
    assert said[-1].startswith("Before going on, prove again that the battery is dead")
    assert mechanic.says(Command.DONE)[0] == "Not yet: answer first."


def test_carry_on_leads_back_to_a_missing_proof(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.HOLD)
    mechanic.says(Command.CARRY_ON)
    mechanic.says(Command.READING, value="0.1")
    mechanic.says(Command.NO)
    mechanic.says(Command.STOP_WORK)
    assert mechanic.says(Command.CARRY_ON)[-1].startswith(
        "Before going on, prove again that the battery is dead"
    )


@pytest.mark.parametrize("question", [None, Command.NOTE, Command.CLOSE_JOB])
def test_an_unclear_stop_work_is_obeyed_at_once_whatever_else_is_asked(mechanic, question):
    mechanic.isolates_the_battery()
    if question:
        mechanic.says(question)
    said = mechanic.post(msg.Unsure(Command.STOP_WORK, None, "stop work", 0.3))
    assert said[0] == "Work stopped. Keep clear."
    assert mechanic.sayings[-len(said)].priority is Priority.DANGER
    assert said[-1] == "I was not sure that I heard stop work. If nothing is wrong, say carry on."
    assert mechanic.state.stopped
    assert mechanic.state.question is None
    mechanic.says(Command.CARRY_ON)
    assert isinstance(mechanic.state.question, q.Proof)


def test_what_failed_is_named_and_it_is_not_the_microphone(mechanic):
    mechanic.isolates_the_battery()
    (said,) = mechanic.post(msg.HearingFailed("the Vosk model does not know: torque"))
    assert said == "I can hear nothing any more: the Vosk model does not know: torque. Use the keys."
    assert not mechanic.happened(ev.MicrophoneChanged)
    (said,) = mechanic.post(msg.MicrophoneLost("the microphone headset stopped delivering"))
    assert said == "The microphone is gone. Use the keys, or plug it in again."


def test_a_clear_command_takes_the_place_of_the_guess(mechanic):
    mechanic.isolates_the_battery()
    mechanic.post(msg.Unsure(Command.UNDO, None, "undo", 0.5))
    mechanic.says(Command.NOTE, text="worn")
    assert mechanic.state.question is None
    mechanic.says(Command.YES)
    assert mechanic.state.is_done("battery-dead")


@pytest.mark.parametrize(
    ("command", "arguments"),
    [(Command.STATE, {"state": "oil drained"}), (Command.READING, {"value": "0.1", "unit": "V"}),
     (Command.CLOSE_JOB, {}), (Command.COUNT, {"number": "1"})],
)  # fmt: skip
def test_never_on_a_guess(mechanic, command, arguments):
    mechanic.isolates_the_battery()
    said = mechanic.post(unsure(command, arguments, "mumble", 0.7))
    assert said == ["I am not sure what you said. Say it again."]
    mechanic.says(Command.YES)
    assert mechanic.state.current == "drain"


def test_killed_between_any_two_events_of_a_job_nothing_is_lost(new_mechanic):
    """Every prefix of the log: the job goes on, every wait that was announced as running still runs."""
    whole = new_mechanic()
    whole.takes_the_sump_off()
    whole.puts_the_sump_on()
    lines = [
        ev.Record(seq=n, at=at.wall, mono=at.mono, event=event).line()
        for n, (event, at) in enumerate(whole.events, start=1)
    ]
    for length in range(1, len(lines) + 1):
        records = [ev.Record.from_line(line) for line in lines[:length]]
        mechanic = new_mechanic()
        mechanic.state = replay(mechanic.procedure, records)
        mechanic.now = Instant(records[-1].at + timedelta(seconds=5), records[-1].mono + timedelta(seconds=5))
        before = mechanic.state
        mechanic.opens()
        assert mechanic.state.settled == before.settled
        assert set(before.deadlines) <= set(mechanic.state.deadlines) | mechanic.state.reached
        for step in ("battery-off", "sump-on"):
            wait = {"battery-off": "isolation-wait:battery", "sump-on": "cure:sump-on"}[step]
            if before.is_done(step):
                assert wait in {*mechanic.state.deadlines, *mechanic.state.reached}


def test_what_cannot_be_heard_through_is_said_with_what_helps(mechanic):
    mechanic.isolates_the_battery()
    (said,) = mechanic.post(msg.Hindered("talk"))
    assert said == (
        "I cannot hear you through the talk here. Bring the microphone to your mouth, take a headset, "
        "or use the keys."
    )
