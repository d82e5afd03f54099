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

SOON = timedelta(milliseconds=150)
LONG = timedelta(hours=1)
NEVER = timedelta(days=1)


class Contract:
    """`self.now()` tells the time, and `self.woken(waker)` waits well beyond SOON for wake-ups."""

    @pytest.fixture
    def waker(self) -> Iterator[Waker]:
        raise NotImplementedError

    def now(self) -> datetime:
        raise NotImplementedError

    def woken(self, waker: Waker) -> int:
        """How often it woke since last asked."""
        raise NotImplementedError

    def test_it_wakes_when_due(self, waker):
        waker.wake_at({"timer": self.now() + SOON})
        assert self.woken(waker) == 1

    def test_what_fell_due_long_ago_wakes_at_once(self, waker):
        waker.wake_at({"cure": self.now() - timedelta(days=3), "check-in": self.now() - timedelta(seconds=5)})
        assert self.woken(waker) == 2

    def test_what_is_not_due_does_not_wake(self, waker):
        waker.wake_at({"timer": self.now() + LONG})
        assert self.woken(waker) == 0

    def test_what_is_no_longer_wanted_does_not_wake(self, waker):
        waker.wake_at({"timer": self.now() + SOON, "cure": self.now() + SOON})
        waker.wake_at({"cure": self.now() + LONG})
        assert self.woken(waker) == 0

    def test_what_is_brought_forward_wakes(self, waker):
        waker.wake_at({"timer": self.now() + LONG})
        waker.wake_at({"timer": self.now() + SOON})
        assert self.woken(waker) == 1

    def test_something_due_that_nobody_has_settled_wakes_once(self, waker):
        due = {"timer": self.now() - SOON}
        waker.wake_at(due)
        assert self.woken(waker) == 1
        waker.wake_at(due)
        waker.wake_at(due | {"cure": self.now() + LONG})
        assert self.woken(waker) == 0

    def test_it_wakes_again_for_the_same_name_at_another_moment_or_when_wanted_anew(self, waker):
        due = {"timer": self.now() - SOON}
        waker.wake_at(due)
        assert self.woken(waker) == 1
        waker.wake_at({"timer": self.now() - timedelta(seconds=2)})
        assert self.woken(waker) == 1
        waker.wake_at({})
        waker.wake_at(due)
        assert self.woken(waker) == 1

    def test_closed_it_wakes_no_more(self, waker):
        waker.wake_at({"timer": self.now() + SOON})
        waker.close()
        waker.close()
        waker.wake_at({"cure": self.now() - SOON})
        assert self.woken(waker) == 0

    def test_a_time_without_a_zone_is_refused_and_changes_nothing(self, waker):
        waker.wake_at({"timer": self.now() + SOON})
        with pytest.raises(ValueError, match="no time zone"):
            waker.wake_at({"cure": datetime(2031, 4, 2)})
        assert self.woken(waker) == 1


class TestStagedWaker(Contract):
    @pytest.fixture
    def waker(self) -> Waker:
        self.clock = StagedClock(datetime(2031, 4, 2, tzinfo=UTC))
        return StagedWaker()

    def now(self) -> datetime:
        return self.clock.now().wall

    def woken(self, waker: Waker) -> int:
        assert isinstance(waker, StagedWaker)
        self.clock.advance(4 * SOON)
        return len(waker.due(self.clock.now()))

    def test_the_oldest_comes_first(self, waker):
        waker.wake_at({"b": self.now() - SOON, "a": self.now() - SOON, "c": self.now() - LONG})
        assert waker.due(self.clock.now()) == ["c", "a", "b"]

    def test_it_tells_how_far_time_may_pass_unheeded(self, waker):
        assert waker.next_wake() is None
        waker.wake_at({"a": self.now() + LONG, "b": self.now() + SOON})
        assert waker.next_wake() == self.now() + SOON
        self.woken(waker)
        assert waker.next_wake() == self.now() - 4 * SOON + LONG


class TestApsWaker(Contract):
    @pytest.fixture
    def waker(self) -> Iterator[Waker]:
        self.inbox: queue.SimpleQueue[Woken] = queue.SimpleQueue()
        waker = ApsWaker(self.inbox.put, heartbeat=NEVER)
        yield waker
        waker.close()

    def now(self) -> datetime:
        return datetime.now(UTC)

    def woken(self, waker: Waker) -> int:
        time.sleep(2 * SOON.total_seconds())
        return len(drained(self.inbox))

    def test_it_never_wakes_early_and_hardly_late(self, waker):
        due = self.now() + SOON
        waker.wake_at({"timer": due})
        assert self.inbox.get(timeout=5) == Woken()
        assert due <= self.now() < due + timedelta(seconds=2)

    def test_it_closes_promptly_with_much_still_wanted(self, waker):
        waker.wake_at({f"timer {n}": self.now() + LONG for n in range(200)})
        before = time.monotonic()
        waker.close()
        assert time.monotonic() - before < 1


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
    assert dealing.wait(5)
    thread = scheduler._thread
    waker.close()
    thread.join(5)
    assert not thread.is_alive()
    assert failed == []


def drained(inbox: queue.SimpleQueue[Woken]) -> list[Woken]:
    got = []
    while not inbox.empty():
        got.append(inbox.get())
    return got


def test_the_heart_beats():
    inbox: queue.SimpleQueue[Woken] = queue.SimpleQueue()
    waker = ApsWaker(inbox.put, heartbeat=timedelta(milliseconds=50))
    try:
        for _ in range(3):
            assert inbox.get(timeout=5) == Woken()
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
        assert inbox.get(timeout=5) == Woken()
        wall.by = jump
        drained(inbox)
        for _ in range(3):
            assert inbox.get(timeout=5) == Woken()
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
        assert inbox.get(timeout=5) == "due"
    finally:
        waker.close()


def test_the_scheduler_is_loaded_only_when_used():
    import subprocess
    import sys

    asked = "import sys, companion.work.edges.wake as w; w.StagedWaker(); print('apscheduler' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
