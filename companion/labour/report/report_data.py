"""What the report tells, as plain data. Names, reasons and notes come from logs and are untrusted text."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from companion.labour.model.learning import Learnt


@dataclass(frozen=True)
class StepRow:
    """One step of one procedure: the book against what is expected of the next job."""

    title: str
    step: str
    book: timedelta
    typical: timedelta
    low: timedelta
    high: timedelta
    """Eight of ten next jobs lie between `low` and `high`."""
    jobs: int
    basis: str
    """Where the numbers come from, such as "seven jobs, three mechanics"."""
    trend: float | None = None
    """The change over ten jobs, as a part. None where the data show none."""
    more_10: int | None = None
    more_5: int | None = None
    """How many more jobs to log until the mean is right to ±10 % and ±5 %. None with too few to tell."""

    @property
    def ratio(self) -> float:
        """Typical over book."""
        return self.typical / self.book


@dataclass(frozen=True)
class JobPoint:
    """One job, or a group of jobs that follow one another when there are too many to draw."""

    started: datetime
    """UTC; of a group, the middle."""
    ratio: float
    """Active time of the finished steps over their book time; of a group, the median."""
    mechanic: str = ""
    vehicle: str = ""
    title: str = ""
    job: str = ""
    active: timedelta = timedelta()
    jobs: int = 1
    low: float = 0.0
    high: float = 0.0
    """Of a group: eight of ten of its jobs lie between."""


@dataclass(frozen=True)
class Held:
    """Ranges of one stated confidence against what then happened."""

    level: float
    """Such as 0.8."""
    inside: int
    steps: int
    jobs: int
    low: float
    high: float
    """The 95 % range of the true share, with steps of one job counted as going together."""

    @property
    def share(self) -> float:
        """Of the step times, how many fell inside."""
        return self.inside / self.steps


@dataclass(frozen=True)
class Lost:
    """Time that was not work."""

    reason: str
    """What held the work up; or the step that is a wait."""
    together: timedelta
    times: int
    waiting: bool = False
    """A wait that is part of the procedure, not an interruption."""


@dataclass(frozen=True)
class SlowNote:
    """Something said during one of the slowest tenth of a step's times."""

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
    """Active time over all jobs."""
    first: datetime | None
    last: datetime | None
    steps: tuple[StepRow, ...] = ()
    points: tuple[JobPoint, ...] = ()
    held: tuple[Held, ...] = ()
    lost: tuple[Lost, ...] = ()
    notes: tuple[SlowNote, ...] = ()
    learnt: tuple[tuple[str, Learnt], ...] = ()
    """The titles of procedures at which the mechanics get faster, and how much."""
    odd: tuple[tuple[str, str], ...] = ()
    """The titles of procedures with times far off the rest, and how many."""
    shop: str = ""
