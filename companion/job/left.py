"""How long is left: by the book here; from logged times when `companion.labour` supplies a better one."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from companion.job.events import Record
from companion.job.instant import Instant
from companion.job.state import State


@dataclass(frozen=True)
class Left:
    """An answer to "how long left"."""

    likely: timedelta
    """As likely over as under (P50)."""
    careful: timedelta | None
    """Four jobs in five take no longer (P80); None when only the book is known."""
    because: str
    """Where the number comes from, as said aloud: "by the book", "seven jobs"."""


class TimeLeft(Protocol):
    """Work still to do, waits left out."""

    def see(self, record: Record) -> None:
        """One more record of the job; each is shown once, in order."""

    def left(self, state: State, now: Instant) -> Left: ...


class BookTimeLeft:
    """The book times of the steps not settled, less what the current one has already taken."""

    def see(self, record: Record) -> None:
        """Nothing: the state tells enough."""

    def left(self, state: State, now: Instant) -> Left:
        total = sum((s.book for s in state.procedure.steps if s.id not in state.settled), timedelta())
        if state.step and state.begun and state.begun.mono <= now.mono:
            total -= min(state.step.book, now.mono - state.begun.mono)
        return Left(total, None, "by the book")


def longest_wait(state: State, now: datetime) -> timedelta:
    """The longest wait still running for the job itself (cures and step waits)."""
    running = [d.due - now for d in state.deadlines.values() if d.id.startswith(("cure:", "wait:"))]
    return max([w for w in running if w > timedelta()], default=timedelta())
