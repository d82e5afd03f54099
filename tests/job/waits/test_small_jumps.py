"""Jumps of the wall clock too small to be told from drift: whatever they add up to, no wait is shorter."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.job.turns.reminders import wake_times
from companion.procedure.model import Procedure
from tests.job.conftest import SMALL, Mechanic

SMALL_JOB = Procedure.from_data(SMALL)
jumps = st.floats(-1.99, 1.99).map(lambda s: timedelta(seconds=round(s, 3)))
moves = st.lists(
    st.tuples(st.sampled_from(["wait", "jump", "restart", "reboot"]), st.floats(0.01, 40), jumps), max_size=30
)


def move(mechanic: Mechanic, kind: str, seconds: float, jump: timedelta) -> timedelta:
    """One thing that happens; how long it really took."""
    length = timedelta(seconds=round(seconds, 3))
    mechanic.passes(seconds=length.total_seconds())
    if kind == "jump":
        mechanic.now = Instant(mechanic.now.wall + jump, mechanic.now.mono)
        mechanic.says(Command.WHAT_IS_WAITING)
    elif kind == "restart":
        mechanic.opens(mechanic.state.boot)
    elif kind == "reboot":
        mechanic.now = Instant(mechanic.now.wall, timedelta(seconds=5))
        mechanic.opens(f"{mechanic.state.boot}+")
    else:
        mechanic.post(msg.Woken())
    return length


def worked(mechanic: Mechanic, happens: list[tuple[str, float, timedelta]], most: timedelta) -> timedelta:
    """So much of this as fits in a length of time; how long it really took."""
    passed = timedelta()
    for kind, seconds, jump in happens:
        if passed + timedelta(seconds=seconds) < most:
            passed += move(mechanic, kind, seconds, jump)
    return passed


SHORT_OF_IT = st.floats(0.01, 1.98)
"""Seconds that are wanting when the last jump comes."""
LATE_BY = 2.05
"""Seconds that what is due may be late for each start of the machine: so much a jump hides from each."""


@settings(max_examples=150)
@given(before=moves, after=moves, short=SHORT_OF_IT, last=jumps)
def test_a_timer_never_rings_early_and_is_never_lost(before, after, short, last):
    mechanic = Mechanic(SMALL_JOB)
    mechanic.opens()
    worked(mechanic, before, timedelta(hours=1))
    mechanic.says(Command.START_TIMER, minutes="2")
    first = mechanic.state.boot.count("+")
    passed = worked(mechanic, after, timedelta(seconds=118))
    assert not mechanic.state.deadlines["timer:1"].announced
    passed += move(mechanic, "jump", 120 - short - passed.total_seconds(), last)
    if passed < timedelta(minutes=2):
        assert not mechanic.state.deadlines["timer:1"].announced
    starts = 1 + mechanic.state.boot.count("+") - first
    mechanic.waits(seconds=short + LATE_BY * (1 + starts))
    assert mechanic.state.deadlines["timer:1"].announced


@settings(max_examples=150)
@given(before=moves, after=moves, short=SHORT_OF_IT, last=jumps)
def test_a_proof_is_never_taken_before_the_whole_wait(before, after, short, last):
    mechanic = Mechanic(SMALL_JOB)
    mechanic.opens()
    mechanic.says(Command.YES)
    worked(mechanic, before, timedelta(hours=1))
    mechanic.state_is("battery disconnected")
    first = mechanic.state.boot.count("+")
    passed = worked(mechanic, after, timedelta(seconds=178))
    passed += move(mechanic, "jump", 180 - short - passed.total_seconds(), last)
    mechanic.post(msg.Woken())
    if passed < timedelta(minutes=3):
        assert "battery-dead" not in (mechanic.state.current, *mechanic.state.settled)
    starts = 1 + mechanic.state.boot.count("+") - first
    mechanic.waits(seconds=short + LATE_BY * (1 + starts))
    assert mechanic.state.current == "battery-dead"


@pytest.mark.parametrize("jump", [-1.9, 1.9])
def test_it_is_woken_when_the_wait_is_over_for_sure(jump):
    mechanic = Mechanic(SMALL_JOB)
    mechanic.opens()
    mechanic.says(Command.START_TIMER, minutes="2")
    mechanic.set_clock(seconds=jump)
    wake = wake_times(mechanic.state, mechanic.now)["timer:1"]
    mechanic.passes(seconds=(wake - mechanic.now.wall).total_seconds())
    assert mechanic.post(msg.Woken()) == ["Timer of 2 min is over."]


def test_a_clock_that_fell_behind_and_is_put_right_while_the_machine_is_off_shortens_no_wait(mechanic):
    mechanic.opens()
    mechanic.set_clock(seconds=-1.9)
    mechanic.says(Command.START_TIMER, minutes="5")
    off = timedelta(seconds=20)
    mechanic.now = Instant(mechanic.now.wall + off + timedelta(seconds=1.9), timedelta(seconds=20))
    mechanic.opens(boot="boot-2")
    assert not any("Timer" in text for text in mechanic.waits(minutes=4, seconds=39))
    assert any("Timer of 5 min is over" in text for text in mechanic.waits(seconds=2))
