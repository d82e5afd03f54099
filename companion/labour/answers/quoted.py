"""`companion quoted`: what was quoted for jobs, against what they took."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from statistics import NormalDist

from companion.job.facts.events import QuoteKept
from companion.labour.answers.quote import as_hours, money
from companion.labour.answers.written import csv_of

_Z = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True)
class QuotedJob:
    """A job that is closed, with what was quoted for it."""

    job: str
    title: str
    vehicle: str
    quote: QuoteKept
    took: timedelta
    """Its active time."""

    @property
    def quoted(self) -> timedelta:
        """The quoted time, without allowance."""
        return timedelta(seconds=self.quote.quoted_s)

    @property
    def enough(self) -> bool:
        """The quoted time was enough."""
        return self.took <= self.quoted

    @property
    def labour(self) -> Decimal | None:
        """What the labour was sold for. None where no price was quoted."""
        return Decimal(self.quote.labour_price) if self.quote.labour_price else None

    @property
    def hourly(self) -> Decimal | None:
        """What an hour of work brought. None without a price, or without any work."""
        if self.labour is None or not self.took:
            return None
        return money(self.labour / Decimal(as_hours(self.took)))

    def profit(self, cost: Decimal | None) -> Decimal | None:
        """What is left of the price of the labour when each hour of work costs so much.

        Args:
            cost: of an hour. None takes the rate that was quoted: then it is what the job brought beyond it.
        """
        hour = cost if cost is not None else Decimal(self.quote.rate) if self.quote.rate else None
        if self.labour is None or hour is None:
            return None
        return self.labour - money(hour * Decimal(as_hours(self.took)))


def by_job(took: Iterable[Mapping[str, object]], quotes: Mapping[str, QuoteKept]) -> list[QuotedJob]:
    """The closed jobs that have a quote, in the order in which they were begun.

    Args:
        took: the answer of `questions.whole_jobs`.
        quotes: of closed jobs, by name.
    """
    return [
        QuotedJob(
            str(row["job"]),
            str(row["title"]),
            str(row["vehicle"]),
            quotes[str(row["job"])],
            timedelta(seconds=float(str(row["active_s"]))),
        )
        for row in took
        if row["job"] in quotes
    ]


@dataclass(frozen=True)
class HowOften:
    """So many of so many, and where the true share lies 95 times of 100."""

    times: int
    of: int
    stated: float
    """The share that was promised, on the average."""

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's interval of a share: it fits few cases, and none at all."""
        share, n, z2 = self.times / self.of, self.of, _Z * _Z
        middle = (share + z2 / (2 * n)) / (1 + z2 / n)
        half = _Z / (1 + z2 / n) * math.sqrt(share * (1 - share) / n + z2 / (4 * n * n))
        return max(0.0, middle - half), min(1.0, middle + half)

    def __str__(self) -> str:
        """Such as "enough in 9 of 12 jobs (75 %; the true share is ...), quoted as enough in 80 of 100"."""
        low, high = self.interval
        jobs = "job" if self.of == 1 else "jobs"
        return (
            f"enough in {self.times} of {self.of} {jobs} ({100 * self.times / self.of:.0f} %; the true "
            f"share is likely {100 * low:.0f} to {100 * high:.0f} %), quoted as enough in "
            f"{100 * self.stated:.0f} of 100"
        )


def how_often_enough(jobs: Sequence[QuotedJob]) -> HowOften | None:
    """How often the quoted time was enough. None without any job."""
    if not jobs:
        return None
    stated = sum(job.quote.confidence for job in jobs) / len(jobs)
    return HowOften(sum(job.enough for job in jobs), len(jobs), stated)


COLUMNS = (
    "job", "procedure", "vehicle", "confidence", "quoted_h", "took_h", "enough", "labour_price",
    "hourly_rate", "profit", "currency",
)  # fmt: skip


def as_csv(jobs: Sequence[QuotedJob], cost: Decimal | None) -> str:
    """As CSV (RFC 4180): a row for each job, and no others."""
    return csv_of(COLUMNS, (_cells(job, cost) for job in jobs))


def _cells(job: QuotedJob, cost: Decimal | None) -> tuple[object, ...]:
    hours = (f"{as_hours(job.quoted):.4f}", f"{as_hours(job.took):.4f}")
    amounts = ("" if a is None else a for a in (job.labour, job.hourly, job.profit(cost)))
    told = (job.job, job.title, job.vehicle, job.quote.confidence, *hours, int(job.enough))
    return (*told, *amounts, job.quote.currency)
