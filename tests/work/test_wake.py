"""Waking the inbox: the same rules for the real scheduler and for the staged one."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from companion.job.messages import Woken
from companion.work.edges.clock import StagedClock
from companion.work.edges.wake import ApsWaker, StagedWaker, Waker
from tests.helpers.programs import PYTHON, run
from tests.helpers.waiting import PATIENCE

SOON = timedelta(milliseconds=150)
LATER = timedelta(seconds=1)
"""For what is taken back at once: also on a busy machine it is then not due yet."""
LONG = timedelta(hours=1)
NEVER = timedelta(days=1)


class Contract:
    """`self.now()` tells the time; `self.woken(...)` waits for wake-ups, and for more than are expected."""

    @pytest.fixture
    def waker(self) -> Iterator[Waker]:
        raise NotImplementedError

    def now(self) -> datetime:
        raise NotImplementedError

    def woken(self, waker: Waker, expected: int, beyond: timedelta = SOON) -> int:
        """How often it woke since last asked: those that are expected, and what comes well beyond that."""
        raise NotImplementedError

    def test_it_wakes_when_due(self, waker):
        waker.wake_at({"timer": self.now() + SOON})
        assert self.woken(waker, 1) == 1

    def test_what_fell_due_long_ago_wakes_at_once(self, waker):
        waker.wake_at({"cure": self.now() - timedelta(days=3), "check-in": self.now() - timedelta(seconds=5)})
        assert self.woken(waker, 2) == 2

    def test_what_is_not_due_does_not_wake(self, waker):
        waker.wake_at({"timer": self.now() + LONG})
        assert self.woken(waker, 0) == 0

    def test_what_is_no_longer_wanted_does_not_wake(self, waker):
        waker.wake_at({"timer": self.now() + LATER, "cure": self.now() + LATER})
        waker.wake_at({"cure": self.now() + LONG})
        assert self.woken(waker, 0, LATER) == 0

    def test_what_is_brought_forward_wakes(self, waker):
        waker.wake_at({"timer": self.now() + LONG})
        waker.wake_at({"timer": self.now() + SOON})
        assert self.woken(waker, 1) == 1

    def test_something_due_that_nobody_has_settled_wakes_once(self, waker):
        due = {"timer": self.now() - SOON}
        waker.wake_at(due)
        assert self.woken(waker, 1) == 1
        waker.wake_at(due)
        waker.wake_at(due | {"cure": self.now() + LONG})
        assert self.woken(waker, 0) == 0

    def test_it_wakes_again_for_the_same_name_at_another_moment_or_when_wanted_anew(self, waker):
        due = {"timer": self.now() - SOON}
        waker.wake_at(due)
        assert self.woken(waker, 1) == 1
        waker.wake_at({"timer": self.now() - timedelta(seconds=2)})
        assert self.woken(waker, 1) == 1
        waker.wake_at({})
        waker.wake_at(due)
        assert self.woken(waker, 1) == 1

    def test_closed_it_wakes_no_more(self, waker):
        waker.wake_at({"timer": self.now() + LATER})
        waker.close()
        waker.close()
        waker.wake_at({"cure": self.now() - SOON})
        assert self.woken(waker, 0, LATER) == 0

    def test_a_time_without_a_zone_is_refused_and_changes_nothing(self, waker):
        waker.wake_at({"timer": self.now() + SOON})
        with pytest.raises(ValueError, match="no time zone"):
            waker.wake_at({"cure": datetime(2031, 4, 2)})
        assert self.woken(waker, 1) == 1


class TestStagedWaker(Contract):
    @pytest.fixture
    def waker(self) -> Waker:
        self.clock = StagedClock(datetime(2031, 4, 2, tzinfo=UTC))
        return StagedWaker()

    def now(self) -> datetime:
        return self.clock.now().wall

    def woken(self, waker: Waker, expected: int, beyond: timedelta = SOON) -> int:
        assert isinstance(waker, StagedWaker)
        self.clock.advance(2 * beyond)
        return len(waker.due(self.clock.now()))

    def test_the_oldest_comes_first(self, waker):
        waker.wake_at({"b": self.now() - SOON, "a": self.now() - SOON, "c": self.now() - LONG})
        assert waker.due(self.clock.now()) == ["c", "a", "b"]

    def test_it_tells_how_far_time_may_pass_unheeded(self, waker):
        assert waker.next_wake() is None
        waker.wake_at({"a": self.now() + LONG, "b": self.now() + SOON})
        assert waker.next_wake() == self.now() + SOON
        self.woken(waker, 1)
        assert waker.next_wake() == self.now() - 2 * SOON + LONG


class TestApsWaker(Contract):
    @pytest.fixture
    def waker(self) -> Iterator[Waker]:
        self.inbox: queue.SimpleQueue[Woken] = queue.SimpleQueue()
        waker = ApsWaker(self.inbox.put, heartbeat=NEVER)
        yield waker
        waker.close()

    def now(self) -> datetime:
        return datetime.now(UTC)

    def woken(self, waker: Waker, expected: int, beyond: timedelta = SOON) -> int:
        came = [self.inbox.get(timeout=PATIENCE) for _ in range(expected)]
        time.sleep(1.2 * beyond.total_seconds())
        return len(came + drained(self.inbox))

    def test_it_never_wakes_early(self, waker):
        due = self.now() + SOON
        waker.wake_at({"timer": due})
        assert self.inbox.get(timeout=PATIENCE) == Woken()
        assert due <= self.now()

    def test_it_closes_without_waiting_for_what_is_still_wanted(self, waker):
        waker.wake_at({f"timer {n}": self.now() + LONG for n in range(200)})
        closing = threading.Thread(target=waker.close, daemon=True)
        closing.start()
        closing.join(PATIENCE)
        assert not closing.is_alive()


def test_closing_while_something_falls_due_is_no_error_of_the_scheduler(monkeypatch):
    """The scheduler is in the middle of dealing with a due job when it is closed."""
    failed: list[object] = []
    monkeypatch.setattr(threading, "excepthook", failed.append)
    waker = ApsWaker(lambda _: None, heartbeat=NEVER)
    scheduler, dealing = waker._scheduler, threading.Event()
    look_up = scheduler._lookup_executor

    def slowly(alias: str) -> object:
        dealing.set()
        time.sleep(0.2)
        return look_up(alias)

    monkeypatch.setattr(scheduler, "_lookup_executor", slowly)
    waker.wake_at({"timer": datetime.now(UTC) - SOON})
    assert dealing.wait(PATIENCE)
    thread = scheduler._thread
    waker.close()
    thread.join(PATIENCE)
    assert not thread.is_alive()
    assert failed == []


def drained(inbox: queue.SimpleQueue[Woken]) -> list[Woken]:
    got = []
    while not inbox.empty():
        got.append(inbox.get_nowait())
    return got


def test_the_heart_beats():
    inbox: queue.SimpleQueue[Woken] = queue.SimpleQueue()
    waker = ApsWaker(inbox.put, heartbeat=timedelta(milliseconds=50))
    try:
        for _ in range(3):
            assert inbox.get(timeout=PATIENCE) == Woken()
    finally:
        waker.close()
    drained(inbox)
    time.sleep(0.15)
    assert inbox.empty()


class JumpingWall(datetime):
    """What the scheduler takes for the wall clock."""

    by = timedelta(0)

    @classmethod
    def now(cls, tz=None):
        return datetime.now(tz) + cls.by


@pytest.fixture
def wall(monkeypatch):
    """The wall clock of the real scheduler, to be set at will."""
    import apscheduler.schedulers.base

    monkeypatch.setattr(apscheduler.schedulers.base, "datetime", JumpingWall)
    monkeypatch.setattr(JumpingWall, "by", timedelta(0))
    return JumpingWall


@pytest.mark.parametrize("jump", [-LONG, LONG])
def test_the_heart_beats_on_whatever_becomes_of_the_wall_clock(wall, jump):
    inbox: queue.SimpleQueue[Woken] = queue.SimpleQueue()
    waker = ApsWaker(inbox.put, heartbeat=timedelta(milliseconds=50))
    try:
        assert inbox.get(timeout=PATIENCE) == Woken()
        wall.by = jump
        drained(inbox)
        for _ in range(3):
            assert inbox.get(timeout=PATIENCE) == Woken()
    finally:
        waker.close()


def test_a_scheduler_that_overslept_is_woken_by_the_heart(wall):
    """As after a suspended hour: the wall clock is beyond what it was asked for, its own wait is not over."""
    inbox: queue.SimpleQueue[str] = queue.SimpleQueue()
    waker = ApsWaker(lambda _: None, heartbeat=timedelta(milliseconds=50))
    try:
        waker._scheduler.add_job(inbox.put, "date", args=["due"], run_date=datetime.now(UTC) + LONG)
        time.sleep(0.1)
        assert inbox.empty()
        wall.by = LONG
        assert inbox.get(timeout=PATIENCE) == "due"
    finally:
        waker.close()


def test_the_scheduler_is_loaded_only_when_used():
    asked = "import sys, companion.work.edges.wake as w; w.StagedWaker(); print('apscheduler' in sys.modules)"
    done = run(PYTHON, "-c", asked)
    assert done.stdout == "False\n", done.stderr
