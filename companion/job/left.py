"""How long is left: by the book here; from logged times when `companion.labour` supplies a better one."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from companion.job.facts.deadlines import Kind
from companion.job.facts.events import Record
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.procedure.model import Act, Step


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


def is_to_do(state: State, step: Step) -> bool:
    """Is the step labour that is still to come (or at hand), as far as is known now? Waits are none; optional
    steps, and those that hang on them, count once they are wanted."""
    if step.id in state.settled or step.act == Act.WAIT:
        return False
    if step.optional and step.id not in state.wanted:
        return False
    return step.only_if is None or step.only_if in state.wanted or state.is_done(step.only_if)


class BookTimeLeft:
    """The book times of the steps to do, less what the current one has already taken."""

    def see(self, record: Record) -> None:
        """Nothing: the state tells enough."""

    def left(self, state: State, now: Instant) -> Left:
        total = sum((s.book for s in state.procedure.steps if is_to_do(state, s)), timedelta())
        if state.step and is_to_do(state, state.step) and state.begun and state.begun.mono <= now.mono:
            total -= min(state.step.book, now.mono - state.begun.mono)
        return Left(total, None, "by the book")


def longest_wait(state: State, now: datetime) -> timedelta:
    """The longest wait still running for the job itself (cures and step waits)."""
    running = [d.due - now for d in state.deadlines.values() if d.kind in (Kind.CURE, Kind.STEP_WAIT)]
    return max([w for w in running if w > timedelta()], default=timedelta())
