"""The clock is set, summer time begins, the machine sleeps: no wait is shorter, nothing is told twice."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant


def timer_of(minutes: int, mechanic) -> None:
    mechanic.isolates_the_battery()
    mechanic.says(Command.START_TIMER, minutes=str(minutes))


@pytest.mark.parametrize("hours", [-30, -1, 1, 30])
@pytest.mark.parametrize("told", [True, False])
def test_a_clock_that_is_set_moves_no_wait(mechanic, hours, told):
    timer_of(30, mechanic)
    mechanic.passes(minutes=10)
    mechanic.set_clock(hours=hours)
    assert mechanic.post(msg.ClockJumped(timedelta(hours=hours)) if told else msg.Woken()) == []
    assert mechanic.waits(minutes=19, seconds=59) == []
    assert mechanic.waits(seconds=1) == ["Timer of 30 min is over."]


def test_a_clock_set_back_does_not_silence_what_repeats(mechanic):
    timer_of(5, mechanic)
    mechanic.waits(minutes=5)
    mechanic.set_clock(hours=-5)
    mechanic.post(msg.Woken())
    assert mechanic.waits(seconds=30) == ["Timer of 5 min is over."]


def test_a_wait_that_is_over_stays_over_when_the_clock_is_set_back(mechanic):
    mechanic.opens()
    mechanic.says(Command.YES)
    mechanic.state_is("battery disconnected")
    mechanic.waits(minutes=3)
    mechanic.set_clock(hours=-8)
    mechanic.reads("0.1")
    assert mechanic.state.current == "drain"


def test_many_small_steps_of_the_clock_are_noticed_together(mechanic):
    timer_of(30, mechanic)
    for _ in range(60):
        mechanic.passes(seconds=10)
        mechanic.set_clock(seconds=1.5)
        mechanic.post(msg.Woken())
        mechanic.says(Command.REPEAT)
    assert mechanic.waits(minutes=19, seconds=57) == []
    assert mechanic.waits(seconds=5) == ["Timer of 30 min is over."]


@pytest.mark.parametrize("zone", ["Europe/London", "America/New_York"])
@pytest.mark.parametrize(
    "start", [datetime(2031, 3, 30, 0, 30, tzinfo=UTC), datetime(2031, 10, 26, 0, 30, tzinfo=UTC)]
)
def test_summer_time_is_no_jump(mechanic, zone, start):
    """Both changes of 2031 in Europe, and an ordinary day elsewhere: inside there is only UTC."""
    mechanic.now = Instant(start, timedelta(hours=1))
    timer_of(120, mechanic)
    due = mechanic.state.deadlines["timer:1"].due
    assert mechanic.waits(minutes=119, seconds=59) == []
    assert mechanic.waits(seconds=1) == ["Timer of 2 h is over."]
    assert not mechanic.happened(ev.ClockMoved)
    assert due.astimezone(ZoneInfo(zone)).astimezone(UTC) == due


def test_what_fell_due_while_the_machine_slept_is_told_once_with_its_lateness(mechanic):
    timer_of(10, mechanic)
    assert mechanic.waits(minutes=40) == ["Timer of 10 min is over. This was due 30 min ago."]
    assert mechanic.waits(seconds=30) == ["Timer of 10 min is over."]
    assert [event.late_s for event in mechanic.happened(ev.DeadlineAnnounced)[-2:]] == [1800, 0]


def test_what_fell_due_while_the_machine_was_off_is_told_at_the_start(mechanic):
    timer_of(10, mechanic)
    mechanic.now = Instant(mechanic.now.wall + timedelta(hours=2), timedelta(seconds=20))
    said = mechanic.opens(boot="boot-2")
    assert said[1] == "Timer of 10 min is over. This was due 1 h 50 min ago."


def test_a_machine_that_wakes_up_in_the_past_loses_nothing_and_fires_nothing_early(mechanic):
    timer_of(10, mechanic)
    mechanic.now = Instant(mechanic.now.wall - timedelta(days=400), timedelta(seconds=20))
    mechanic.opens(boot="boot-2")
    assert mechanic.waits(minutes=9, seconds=59) == []
    mechanic.set_clock(days=400)
    assert mechanic.post(msg.Woken()) == []
    assert mechanic.waits(seconds=1) == ["Timer of 10 min is over."]
