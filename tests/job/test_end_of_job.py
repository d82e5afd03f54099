"""The job is closed only when everything opened, isolated and disturbed is put right."""

import pytest

from companion.job.facts import events as ev
from companion.job.facts.commands import Command


@pytest.fixture
def nearly_done(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.puts_the_sump_on()
    mechanic.says(Command.DONE)  # plugged in
    mechanic.says(Command.NO)  # the liner
    mechanic.state_is("seal is fit to use")
    mechanic.waits(hours=2)
    return mechanic


def prove_the_battery(mechanic) -> None:
    mechanic.says(Command.DONE)
    mechanic.reads("0.1")


def test_a_whole_job(nearly_done):
    mechanic = nearly_done
    prove_the_battery(mechanic)
    mechanic.says(Command.DONE)
    said = mechanic.state_is("battery connected")
    assert said[-1].endswith("Nothing is left to do and nothing is open. Say close the job.")
    assert mechanic.says(Command.CLOSE_JOB) == ["Close the job for good? Yes or no?"]
    said = mechanic.says(Command.YES)
    assert said == ["Job closed: 13 steps done.",
                    "Check the sump for leaks, after 100 km or 7 days, whichever comes first."]  # fmt: skip
    assert mechanic.state.closed
    assert mechanic.says(Command.UNDO) == ["No: the job is closed."]


def test_closing_is_refused_with_what_is_open(mechanic):
    mechanic.takes_the_sump_off()
    said = mechanic.says(Command.CLOSE_JOB)
    assert said[0] == "The job cannot be closed."
    assert said[1].startswith(
        "6 things are open: the battery is disconnected and dead. The engine oil is drained."
    )
    assert said[-1] == "9 steps to go."
    assert not mechanic.happened(ev.JobClosed)


def test_a_closing_step_left_out_comes_back_until_it_is_done(nearly_done):
    mechanic = nearly_done
    prove_the_battery(mechanic)
    mechanic.says(Command.SKIP, reason="no oil here")
    mechanic.state_is("battery connected")
    assert mechanic.state.current == "refill"
    assert mechanic.happened(ev.StepUndone)[-1].step == "refill"
    assert any("engine oil is drained" in s.text.lower() for s in mechanic.sayings[-4:])


def test_a_running_timer_keeps_the_job_open(nearly_done):
    mechanic = nearly_done
    prove_the_battery(mechanic)
    mechanic.says(Command.DONE)
    mechanic.state_is("battery connected")
    mechanic.says(Command.CLOSE_JOB)
    mechanic.says(Command.START_TIMER, minutes="5")
    assert mechanic.says(Command.YES)[0].startswith("No: a timer is running")
    mechanic.says(Command.CANCEL_TIMER)
    mechanic.says(Command.CLOSE_JOB)
    mechanic.says(Command.YES)
    assert mechanic.state.closed


def test_a_held_job_is_not_closed_by_a_late_yes(nearly_done):
    mechanic = nearly_done
    prove_the_battery(mechanic)
    mechanic.says(Command.DONE)
    mechanic.state_is("battery connected")
    mechanic.says(Command.CLOSE_JOB)
    mechanic.says(Command.HOLD)
    mechanic.says(Command.YES)
    assert not mechanic.state.closed


def test_the_follow_up_is_announced_when_its_time_has_come(nearly_done):
    mechanic = nearly_done
    prove_the_battery(mechanic)
    mechanic.says(Command.DONE)
    mechanic.state_is("battery connected")
    mechanic.says(Command.CLOSE_JOB)
    mechanic.says(Command.YES)
    assert mechanic.waits(days=6) == []
    assert mechanic.waits(days=1)[0].startswith("Check the sump for leaks")
    assert mechanic.waits(days=1) == []
