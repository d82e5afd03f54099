"""Wakes the inbox when something may be due. The core decides what is, by its own reading of the clock.

APScheduler goes by the wall clock, and sleeps until something is due. When the clock is set back an hour, it
sleeps an hour too long. A thread that waits stands still while the machine is suspended. So a heartbeat
wakes both the scheduler and the inbox every second. It needs no wall clock.
"""

from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from threading import Event, Thread
from typing import Protocol

from companion.job.facts.instant import Instant
from companion.job.messages import Woken

HEARTBEAT = timedelta(seconds=1)


class Waker(Protocol):
    """Knows when to wake the inbox."""

    def wake_at(self, due: Mapping[str, datetime]) -> None:
        """Wake at these moments (UTC), and forget those of the last call. A moment in the past wakes at once.

        The same name at the same moment does not wake twice. Otherwise something due that nobody settles
        would wake the inbox without end.
        """
        ...

    def close(self) -> None:
        """Wake no more. Closing twice is harmless."""
        ...


def _aware(due: Mapping[str, datetime]) -> dict[str, datetime]:
    for name, moment in due.items():
        if moment.tzinfo is None:
            raise ValueError(f"{name}: {moment} has no time zone")
    return {name: moment.astimezone(UTC) for name, moment in due.items()}


class ApsWaker:
    """Wakes by APScheduler, and by a heartbeat. `post` is called from other threads and must not block."""

    def __init__(self, post: Callable[[Woken], None], heartbeat: timedelta = HEARTBEAT) -> None:
        from apscheduler.schedulers.background import BackgroundScheduler

        self._post = post
        self._wanted: dict[str, datetime] = {}
        self._closed = Event()
        self._scheduler = BackgroundScheduler(
            timezone=UTC,
            # By default a job late by more than a second is dropped in silence.
            job_defaults={"misfire_grace_time": None, "coalesce": True},
            executors={"default": {"type": "threadpool", "max_workers": 1}},
        )
        self._scheduler.start()
        self._heart = Thread(
            target=self._beat, args=(heartbeat.total_seconds(),), name="heartbeat", daemon=True
        )
        self._heart.start()

    def wake_at(self, due: Mapping[str, datetime]) -> None:
        from apscheduler.jobstores.base import JobLookupError

        wanted = _aware(due)
        if self._closed.is_set():
            return
        for name in self._wanted.keys() - wanted.keys():
            with suppress(JobLookupError):  # It has woken already.
                self._scheduler.remove_job(name)
        for name, moment in wanted.items():
            if self._wanted.get(name) != moment:
                self._scheduler.add_job(self._wake, "date", run_date=moment, id=name, replace_existing=True)
        self._wanted = wanted

    def close(self) -> None:
        if not self._closed.is_set():
            self._closed.set()
            # A scheduler that is stopped while it runs a job looks for that job in vain. So it is paused
            # first, and begins no more; removing the jobs then waits for the one that runs.
            self._scheduler.pause()
            self._scheduler.remove_all_jobs()
            self._scheduler.shutdown(wait=False)
            self._heart.join()

    def _wake(self) -> None:
        if not self._closed.is_set():
            self._post(Woken())

    def _beat(self, every: float) -> None:
        while not self._closed.wait(every):
            self._scheduler.wakeup()
            self._wake()


class StagedWaker:
    """Wakes when asked, by a staged clock: for rehearsals and tests."""

    def __init__(self) -> None:
        self._wanted: dict[str, datetime] = {}
        self._woken: set[str] = set()
        self._closed = False

    def wake_at(self, due: Mapping[str, datetime]) -> None:
        wanted = _aware(due)
        self._woken = {name for name in self._woken if wanted.get(name) == self._wanted[name]}
        self._wanted = wanted

    def due(self, now: Instant) -> list[str]:
        """What is due by `now` and has not woken yet, oldest first."""
        waking = [] if self._closed else [name for name in self._waiting() if self._wanted[name] <= now.wall]
        self._woken.update(waking)
        return waking

    def next_wake(self) -> datetime | None:
        """The earliest moment still waited for: as far as a rehearsal may let the time pass unheeded."""
        return next((self._wanted[name] for name in self._waiting()), None)

    def close(self) -> None:
        self._closed = True

    def _waiting(self) -> list[str]:
        return sorted(self._wanted.keys() - self._woken, key=lambda name: (self._wanted[name], name))
