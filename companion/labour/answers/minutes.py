"""Where the minutes are: what is worked over the book, how often, and by what it is summed.

Each group is summed over its jobs first, because steps of one job are slow together. The mean over jobs has
an interval by Student's t; with one job there is none. What it comes to in a month is that mean times how
many such jobs there are in a month (of 30.44 days, from the first to the last of them and never less than
one month).
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from companion.labour.model.normal import t_quantile
from companion.labour.table.collect import StepTable

_MONTH = timedelta(days=30.44)


@dataclass(frozen=True)
class Only:
    """Which jobs are looked at. Names count whatever their capitals; empty ones are not asked for."""

    title: str = ""
    vehicle: str = ""
    mechanic: str = ""
    since: date | None = None
    until: date | None = None
    """The last day that counts."""


@dataclass(frozen=True)
class Minutes:
    """One group."""

    of: str
    """Such as the step's id, or a month as 2031-03."""
    title: str
    """The procedure, where groups are steps; otherwise empty."""
    jobs: int
    over: timedelta
    """Over the book, of all jobs together; below nothing when they were quicker."""
    each: timedelta
    """The same of a job, on average."""
    low: timedelta | None
    high: timedelta | None
    """The range of that average that holds with probability 95 %. None with one job."""
    a_month: float
    """How many such jobs there are in a month."""

    @property
    def over_a_month(self) -> timedelta:
        """What it comes to in a month."""
        return self.each * self.a_month


def minutes(table: StepTable, by: str, only: Only | None = None) -> list[Minutes]:
    """The groups with the most minutes over the book first, those under it last.

    Args:
        by: one of `MINUTES_BY`.
    """
    table.only(_where(only or Only()))
    return sorted(_groups(table.ask(f"minutes_by_{by}")), key=lambda one: (-one.over, one.title, one.of))


def _where(only: Only) -> dict[str, object]:
    """Conditions on `per_job`, with what they compare with."""
    found: dict[str, object] = {}
    for name in ("title", "vehicle", "mechanic"):
        if words := getattr(only, name).strip():
            found[f"lower(trim({name})) = ?"] = words.lower()
    if only.since is not None:
        found["day >= ?"] = only.since
    if only.until is not None:
        found["day <= ?"] = only.until
    return found


def _groups(rows: list[dict[str, Any]]) -> Iterator[Minutes]:
    for row in rows:
        jobs, mean = row["jobs"], row["mean_s"]
        margin = None
        if jobs > 1 and row["deviation_s"] is not None:
            margin = t_quantile(0.975, jobs - 1) * row["deviation_s"] / math.sqrt(jobs)
        span = max(row["last"] - row["first"] + timedelta(days=1), _MONTH)
        yield Minutes(
            of=str(row["of"]),
            title=row["within"] or "",
            jobs=jobs,
            over=timedelta(seconds=row["over_s"]),
            each=timedelta(seconds=mean),
            low=None if margin is None else timedelta(seconds=mean - margin),
            high=None if margin is None else timedelta(seconds=mean + margin),
            a_month=jobs / (span / _MONTH),
        )
