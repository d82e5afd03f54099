"""Everything that waits is a deadline: when it is due, how urgent, and whether it has been answered.

Pure. Deadlines are folded from events, so they survive a crash and a restart; the edge in
`wake.py` only wakes the inbox, and the core decides by `now` what is due: never early.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from companion.job.facts.sayings import Priority
from companion.procedure.units import short

REPEAT_EVERY = timedelta(seconds=30)
"""An urgent deadline is said again this often until it is acknowledged."""

ON_TIME = timedelta(seconds=5)
"""Announced within this, a deadline is not called late."""


class Kind(StrEnum):
    """What is being waited for."""

    ISOLATION_WAIT = "isolation wait"
    STEP_WAIT = "step wait"
    SKIN_OVER_WARNING = "skin-over warning"
    SKIN_OVER = "skin-over"
    CURE = "cure"
    TIMER = "timer"
    PART_EXPECTED = "part expected"
    FOLLOW_UP = "follow-up"
    LOG_FAILED = "log failed"
    """Due at once, and said again until acknowledged."""


DAYS = (Kind.PART_EXPECTED, Kind.FOLLOW_UP)
"""Not waits, but days on which something is due."""
AT_MOST = (Kind.SKIN_OVER, Kind.SKIN_OVER_WARNING)
"""Kinds that are safer when they come early. All others are safer when they come late."""


@dataclass(frozen=True)
class Deadline:
    """One thing that will be due."""

    id: str
    kind: Kind
    what: str
    """As said aloud when it is due: that it is over."""
    due: datetime
    """UTC."""
    priority: Priority
    about: str = ""
    announced: int = 0
    """How often it has been said."""
    last_announced: datetime | None = None
    running: str = ""
    """What it is as long as it runs: "isolation wait for the battery"; in old logs its kind says so."""

    @property
    def name(self) -> str:
        """What it is as long as it runs."""
        return self.running or (self.what.rstrip(".") if self.kind in DAYS else str(self.kind))

    def told(self, now: datetime) -> str:
        """As said while it runs: never in the words of its end."""
        left = short(self.due - now)
        match self.kind:
            case Kind.PART_EXPECTED:
                return f"{self.name} in {left}"
            case Kind.FOLLOW_UP:
                return f"{self.name}, in {left}"
            case _:
                return f"{self.name}, {left} left"

    def moved(self, by: timedelta) -> "Deadline":
        """The same wait on a wall clock that was set by so much."""
        said = None if self.last_announced is None else later(self.last_announced, by)
        return replace(self, due=later(self.due, by), last_announced=said)

    @property
    def acknowledgeable(self) -> bool:
        """It has been said, and "got it" settles it. A part must come first."""
        return self.announced > 0 and self.kind is not Kind.PART_EXPECTED

    def next_wake(self) -> datetime | None:
        """When it wants to be said next; None when it waits for nothing more."""
        if self.announced == 0:
            return self.due
        if self.priority is Priority.ROUTINE or self.last_announced is None:
            return None
        return later(self.last_announced, REPEAT_EVERY)


def later(moment: datetime, by: timedelta) -> datetime:
    """So much later (or earlier), as far as the calendar goes."""
    try:
        return moment + by
    except OverflowError:
        return (datetime.max if by > timedelta() else datetime.min).replace(tzinfo=UTC)


def running(deadlines: Iterable[Deadline], now: datetime) -> list[Deadline]:
    """What still runs, the soonest first. Not the warnings: the deadline that each is of is there."""
    still = (d for d in deadlines if d.due > now and d.kind is not Kind.SKIN_OVER_WARNING)
    return sorted(still, key=lambda d: d.due)


def overdue(deadlines: Iterable[Deadline], now: datetime) -> list[Deadline]:
    """Those that want to be said now, oldest first."""
    wanting = [(wake, d) for d in deadlines if (wake := d.next_wake()) is not None and wake <= now]
    return [d for _, d in sorted(wanting, key=lambda pair: (pair[1].due, pair[1].id))]
