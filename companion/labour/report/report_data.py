"""What the report tells, as plain data. Names, reasons and notes come from logs: they are untrusted text."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from companion.labour.model.learning import Learnt


@dataclass(frozen=True)
class StepRow:
    """One step of one procedure: the book, and what is expected of the next job."""

    title: str
    step: str
    book: timedelta
    typical: timedelta
    low: timedelta
    high: timedelta
    """Eight of ten next jobs lie between `low` and `high`."""
    jobs: int
    basis: str
    """What the numbers rest on, such as "seven jobs, three mechanics"."""
    trend: float | None = None
    """The change over ten jobs, as a part. None where the data show none."""
    more_10: int | None = None
    more_5: int | None = None
    """How many more jobs to log until the mean is right to ±10 % and ±5 %. None with too few to tell."""

    @property
    def ratio(self) -> float:
        """The typical time over the book time."""
        return self.typical / self.book


@dataclass(frozen=True)
class NoBookRow:
    """One step of one procedure of which no book time was ever logged."""

    title: str
    step: str
    typical: timedelta
    low: timedelta
    high: timedelta
    """Eight of ten next jobs lie between `low` and `high`."""
    basis: str


@dataclass(frozen=True)
class JobPoint:
    """One job; or a group of jobs that follow one another, where there are too many to draw."""

    started: datetime
    """In UTC. Of a group it is the middle."""
    ratio: float
    """The active time of the finished steps over their book time. Of a group it is the median."""
    mechanic: str = ""
    vehicle: str = ""
    title: str = ""
    job: str = ""
    active: timedelta = timedelta()
    jobs: int = 1
    low: float = 0.0
    high: float = 0.0
    """Eight of ten jobs of a group lie between these."""


class Verdict(StrEnum):
    """What can be said of ranges, in words to put behind what held."""

    RIGHT = ""
    TOO_FEW = ": too few jobs to judge"
    WIDE = ": wider than needed"
    NARROW = ": too narrow"


_ROOM = 0.4
"""Where chance alone may move the share by more than this, from end to end, nothing is said."""


@dataclass(frozen=True)
class Held:
    """Ranges of one stated confidence, and what then happened."""

    level: float
    """Such as 0.8."""
    inside: int
    steps: int
    jobs: int
    low: float
    high: float
    """What chance alone makes of the share, where the ranges are right (`foresight.py`)."""

    @property
    def share(self) -> float:
        """The share of the step times that fell inside."""
        return self.inside / self.steps

    @property
    def verdict(self) -> Verdict:
        """What can be said of ranges of this confidence."""
        if self.high - self.low > _ROOM:
            return Verdict.TOO_FEW
        if self.low <= self.share <= self.high:
            return Verdict.RIGHT
        return Verdict.WIDE if self.share > self.high else Verdict.NARROW


@dataclass(frozen=True)
class Lost:
    """Time that was not work."""

    reason: str
    """What held the work up, or the step that is a wait."""
    together: timedelta
    times: int
    waiting: bool = False
    """Whether it is a wait of the procedure, and no interruption."""


@dataclass(frozen=True)
class SlowNote:
    """What was noted in one of the slowest tenth of a step's times."""

    title: str
    step: str
    job: str
    mechanic: str
    vehicle: str
    active: timedelta
    typical: timedelta
    note: str


@dataclass(frozen=True)
class ReportData:
    """Everything in the report."""

    made: datetime
    jobs: int
    mechanics: int
    work: timedelta
    """The active time of all jobs together."""
    first: datetime | None
    last: datetime | None
    steps: tuple[StepRow, ...] = ()
    points: tuple[JobPoint, ...] = ()
    no_book: tuple[NoBookRow, ...] = ()
    jobs_without_book: int = 0
    """So many jobs have no step with a book time, so they are not among the points."""
    held: tuple[Held, ...] = ()
    lost: tuple[Lost, ...] = ()
    notes: tuple[SlowNote, ...] = ()
    learnt: tuple[tuple[str, Learnt], ...] = ()
    """The titles of procedures at which the mechanics get faster, and how much."""
    odd: tuple[tuple[str, str], ...] = ()
    """The titles of procedures with times far off the rest, and how many."""
    shop: str = ""
