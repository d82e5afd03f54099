"""Timers, urgent reminders, check-ins, and who may interrupt whom."""

from datetime import timedelta

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.sayings import Priority, Tone
from companion.job.turns.reminders import HOOK_STAGE, wake_times


def test_an_urgent_reminder_repeats_until_got_it(mechanic):
    mechanic.isolates_the_battery()
    assert mechanic.says(Command.START_TIMER, minutes="10") == ["Timer started: 10 min."]
    assert mechanic.waits(minutes=9, seconds=59) == []
    assert mechanic.waits(seconds=1) == ["Timer of 10 min is over."]
    assert mechanic.waits(seconds=29) == []
    assert mechanic.waits(seconds=1) == ["Timer of 10 min is over."]
    assert mechanic.sayings[-1].tone is Tone.URGENT
    assert mechanic.says(Command.GOT_IT) == ["Good."]
    assert mechanic.waits(minutes=5) == []
    assert mechanic.says(Command.GOT_IT) == ["Nothing is waiting for an answer."]


def test_a_timer_can_be_asked_for_and_cancelled(mechanic):
    mechanic.isolates_the_battery()
    assert mechanic.says(Command.START_TIMER) == ["For how long?"]
    assert mechanic.says(Command.DURATION, minutes="20") == ["Timer started: 20 min."]
    assert mechanic.says(Command.WHAT_IS_WAITING) == ["Timer of 20 min, 20 min left."]
    assert mechanic.says(Command.CANCEL_TIMER) == ["Timer of 20 min cancelled."]
    assert mechanic.says(Command.CANCEL_TIMER) == ["No timer is running."]


@pytest.mark.parametrize("minutes", ["0", "-1", "nan", "inf", "1e300", "ten", "20000"])
def test_a_timer_of_no_sensible_length_is_refused(mechanic, minutes):
    mechanic.isolates_the_battery()
    assert mechanic.says(Command.START_TIMER, minutes=minutes)[0].startswith("No: ")
    assert not any(d.startswith("timer") for d in mechanic.state.deadlines)


def test_a_routine_reminder_waits_for_the_step_boundary(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    assert mechanic.state.current == "plug"
    assert mechanic.waits(hours=1, minutes=59) == []
    assert mechanic.waits(minutes=5) == []
    said = mechanic.says(Command.UNDO)
    assert said


def test_a_cure_that_is_over_is_told_at_the_next_boundary_with_a_cue(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    mechanic.waits(minutes=100)
    mechanic.says(Command.DONE)
    mechanic.says(Command.YES)
    mechanic.waits(minutes=25)
    assert mechanic.state.current == "tidy"
    said = mechanic.says(Command.DONE)
    assert said[0] == "The flange sealant has cured. This was due 5 min ago."
    assert mechanic.sayings[-len(said)].tone is Tone.CUE


def test_several_things_due_are_told_oldest_first(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.START_TIMER, minutes="30")
    mechanic.says(Command.START_TIMER, minutes="10")
    mechanic.passes(minutes=40)
    said = mechanic.post(msg.Woken())
    assert said == ["Timer of 10 min is over. This was due 30 min ago.",
                    "Timer of 30 min is over. This was due 10 min ago."]  # fmt: skip


def test_the_wait_of_a_step_starts_once_and_is_not_shortened(mechanic_for):
    from companion.procedure.model import Procedure

    mechanic = mechanic_for(Procedure.from_data({
        "title": "Wait", "revision": "1", "applies_to": ["x"], "source_of_torques": "none",
        "steps": [
            {"id": "pour", "act": "fill", "say": "Pour.", "book": "1 min"},
            {"id": "stand", "act": "wait", "say": "Let it stand.", "book": "5 min", "wait": "5 min"},
        ],
    }))  # fmt: skip
    mechanic.opens()
    mechanic.says(Command.DONE)
    assert mechanic.says(Command.DONE) == ["Not yet: this wait has 5 min left."]
    assert mechanic.says(Command.SKIP, reason="bored") == ["No: the wait cannot be skipped."]
    mechanic.waits(minutes=4)
    mechanic.says(Command.HOLD)
    mechanic.says(Command.CARRY_ON)
    assert mechanic.says(Command.DONE) == ["Not yet: this wait has 1 min left."]
    mechanic.waits(minutes=1)
    mechanic.says(Command.DONE)
    assert mechanic.state.is_done("stand")
    mechanic.says(Command.UNDO)
    assert mechanic.says(Command.DONE) == ["Not yet: this wait has 5 min left."]


def escalations(mechanic) -> list[int]:
    return [event.stage for event in mechanic.happened(ev.CheckInEscalated)]


def test_someone_alone_is_asked_then_the_alarm_is_raised_in_stages(mechanic):
    mechanic.opens(alone_every=timedelta(minutes=15))
    assert mechanic.waits(minutes=14, seconds=59) == []
    assert mechanic.waits(seconds=1) == ["Are you all right? Say got it."]
    assert mechanic.sayings[-1].priority is Priority.URGENT
    mechanic.waits(seconds=30)
    said = mechanic.waits(seconds=30)
    assert said == ["Alarm: no answer from the mechanic."]
    assert mechanic.sayings[-1].priority is Priority.DANGER
    mechanic.waits(seconds=30)
    assert escalations(mechanic) == [1, 2, 3, 4]
    assert escalations(mechanic)[-1] == HOOK_STAGE
    assert mechanic.says(Command.GOT_IT) == ["Good."]
    mechanic.waits(minutes=14)
    assert escalations(mechanic) == [1, 2, 3, 4]


def test_any_word_understood_is_a_sign_of_life(mechanic):
    mechanic.opens(alone_every=timedelta(minutes=15))
    for _ in range(5):
        mechanic.waits(minutes=14)
        mechanic.says(Command.REPEAT)
    assert not escalations(mechanic)


def test_noise_is_no_sign_of_life(mechanic):
    mechanic.opens(alone_every=timedelta(minutes=15))
    mechanic.waits(minutes=14)
    mechanic.post(msg.NotUnderstood("rattle"))
    mechanic.waits(minutes=1)
    assert escalations(mechanic) == [1]


def test_no_check_in_unless_asked_for_and_none_while_the_job_is_held(mechanic, new_mechanic):
    mechanic.opens()
    mechanic.waits(days=1)
    assert not escalations(mechanic)
    held = new_mechanic()
    held.opens(alone_every=timedelta(minutes=15))
    held.says(Command.HOLD)
    held.waits(days=1)
    assert not escalations(held)
    stopped = new_mechanic()
    stopped.opens(alone_every=timedelta(minutes=15))
    stopped.says(Command.STOP_WORK)
    stopped.waits(minutes=15)
    assert escalations(stopped) == [1]


def test_the_interval_is_shorter_under_a_supported_vehicle(mechanic_for, procedure):
    data = procedure.model_dump()
    data["energy"]["battery"]["source"] = "vehicle support"
    mechanic = mechanic_for(procedure.model_validate(data))
    mechanic.opens(alone_every=timedelta(minutes=20), alone_under_vehicle=timedelta(minutes=5))
    mechanic.says(Command.YES)
    assert mechanic.waits(minutes=6) == []
    mechanic.state_is("battery disconnected")
    assert "Are you all right? Say got it." in mechanic.waits(minutes=5)


def test_the_check_in_is_among_the_wake_ups(mechanic):
    mechanic.opens(alone_every=timedelta(minutes=15))
    wakes = wake_times(mechanic.state, mechanic.now)
    assert wakes["check-in"] == mechanic.now.wall + timedelta(minutes=15)
