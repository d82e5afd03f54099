"""`companion times`: what each step takes, where that differs from the book, and what gets in the way."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from statistics import NormalDist
from typing import Any

from companion.labour.model.fit import fit
from companion.labour.model.fitted import Fitted
from companion.labour.model.kept import keep, kept_fit
from companion.labour.model.normal import t_quantile
from companion.labour.model.observations import observed
from companion.labour.model.prediction import Prediction
from companion.labour.table.collect import StepTable
from companion.labour.table.doing import Joined
from companion.labour.table.task import Task

TREND_JOBS = 10
"""A trend is told as the change over so many jobs of the procedure."""
_FEWEST_FOR_TREND = 8
_FALSE_ALARM = 0.05
"""In a shop without trends, the chance that any trend is told. The steps share it (Bonferroni)."""

_QUESTIONS = ("interruptions", "noted", "usual_order", "by_step", "slowest")
_Z = NormalDist().inv_cdf(0.975)
"""So many standard errors to either side hold 95 of 100 means."""

Key = tuple[str, str, str]
"""Title, step and work: what tells a step of one procedure apart."""


@dataclass(frozen=True)
class Interruption:
    """Something that held a step up."""

    reason: str
    times: int
    together: timedelta


@dataclass(frozen=True)
class SlowCase:
    """One of the slowest tenth of a step's jobs. Its notes are what someone said: escape them."""

    job: str
    mechanic: str
    vehicle: str
    active: timedelta
    notes: tuple[str, ...]


@dataclass(frozen=True)
class StepTimes:
    """What is known about one step of one procedure."""

    title: str
    step: str
    work: str
    act: str
    book: timedelta | None
    """None where no book time was ever logged."""
    jobs: int
    """In how many jobs it was timed."""
    mechanics: int
    unfinished: int
    """Of those jobs, how many only say "at least"."""
    repeated: int
    """In how many jobs it was done more than once."""
    seen: timedelta | None
    """The geometric mean of the finished times. None without any."""
    mean: timedelta | None
    """The mean of the finished times. None without any."""
    deviation: timedelta | None
    """Their standard deviation. None with fewer than two."""
    predicted: Prediction
    """The next time, by the mechanic asked for, or by any."""
    trend: float | None
    """The change over `TREND_JOBS` jobs of the procedure, as a part: -0.1 is ten per cent quicker. None where
    the data show none."""
    interrupted: timedelta
    interruptions: tuple[Interruption, ...]
    """The longest together first."""
    slowest: tuple[SlowCase, ...]
    """The slowest first."""

    @property
    def task(self) -> Task:
        """As labour."""
        return Task(self.step, self.work, self.book or timedelta())

    @property
    def off_book(self) -> float | None:
        """The typical time over the book time. None without a book time."""
        return self.predicted.typical / self.book if self.book else None

    @property
    def over_book(self) -> timedelta:
        """The typical time less the book time; nothing without one."""
        return self.predicted.typical - self.book if self.book else timedelta()

    def more_jobs(self, within: float) -> int | None:
        """How many more jobs to log until the mean time is right to ±`within`. None with too few to tell."""
        if not self.mean or self.deviation is None:
            return None
        finished = self.jobs - self.unfinished
        return max(0, observations_needed(self.deviation / self.mean, within) - finished)


@dataclass(frozen=True)
class JobTotal:
    """All usual steps of one procedure together: those that were timed in at least half of its jobs."""

    steps: int
    no_book: int
    """So many of them have no book time."""
    book: timedelta
    """Of the others together."""
    predicted: Prediction
    """The next job. Typical times of steps do not add up to it, because not all are slow on the same day."""


@dataclass(frozen=True)
class Times:
    """The answer of `companion times`."""

    steps: tuple[StepTimes, ...]
    """In the order in which they are usually done, procedure by procedure."""
    fits: dict[str, Fitted]
    """The fits by title."""
    totals: dict[str, JobTotal]
    """The whole jobs by title."""
    joined: tuple[Joined, ...] = ()
    """The wordings that were taken for the same step."""

    def most_different(self, count: int = 5) -> tuple[StepTimes, ...]:
        """The steps with the most minutes off the book over all their jobs. Untimed ones are left out."""
        timed = [s for s in self.steps if s.jobs and s.book]
        return tuple(sorted(timed, key=lambda s: -abs(s.over_book) * s.jobs)[:count])

    def most_interrupted(self, count: int = 5) -> tuple[StepTimes, ...]:
        """The steps that lost the most time to interruptions."""
        hit = [s for s in self.steps if s.interrupted]
        return tuple(sorted(hit, key=lambda s: -s.interrupted)[:count])


def times(
    table: StepTable,
    title: str | None = None,
    logs: Path | None = None,
    noted_only: bool = False,
    mechanic: str = "",
) -> Times:
    """The times of all procedures in the table, or of the one with that title.

    Args:
        logs: the logs folder, to keep the fits there for "how long left" at the car.
        noted_only: of the slowest jobs, tell only those in which something was said.
        mechanic: whose times are told, as the name is logged; '' for all. What the others took still tells
            what is usual of the step.
    """
    asked: Mapping[str, Any] = {name: name for name in _QUESTIONS}
    if mechanic:
        from companion.labour.table.asked_of_table import of_mechanic  # slow to load

        asked = of_mechanic(mechanic)
    if not mechanic:
        table.ask_ahead(*(name for name in _QUESTIONS if name != "slowest" or not noted_only))
    fits: dict[str, Fitted] = {}
    for one in observed(table, title):
        fits[one.title] = fit(one)
        if logs is not None and table.parquet is not None:
            keep(fits[one.title], kept_fit(logs, one.title))
    held = _by_key(table.ask(asked["interruptions"]))
    said = table.ask(asked["noted"])
    noted = {(_key(r), r["job_number"]): r for r in said}.values()
    slowest = noted if noted_only else table.ask(asked["slowest"])
    slow = _by_key(slowest)
    notes: dict[tuple[Key, int], list[str]] = {}
    for row in said:
        notes.setdefault((_key(row), row["job_number"]), []).extend(row["notes"])
    order = {_key(r): (r["place"], r["at"]) for r in table.ask(asked["usual_order"])}
    rows = [r for r in table.ask(asked["by_step"]) if r["title"] in fits]
    rows.sort(key=lambda r: (r["title"], order[_key(r)], r["step"]))
    told = sum(_finished(r) >= _FEWEST_FOR_TREND for r in rows)
    steps = tuple(
        _step(r, fits[r["title"]], held.get(_key(r), []), slow.get(_key(r), []), notes, told, mechanic)
        for r in rows
    )
    totals = {t: _total([s for s in steps if s.title == t], fit, mechanic) for t, fit in fits.items()}
    return Times(steps, fits, totals, table.joined)


def _total(steps: Sequence[StepTimes], fitted: Fitted, mechanic: str) -> JobTotal:
    usual = [s for s in steps if 2 * s.jobs >= max(one.jobs for one in steps)]
    booked = [s.book for s in usual if s.book]
    return JobTotal(
        len(usual),
        len(usual) - len(booked),
        sum(booked, timedelta()),
        fitted.total([s.task for s in usual], mechanic),
    )


def observations_needed(variation: float, within: float, errors: float = _Z) -> int:
    """How many times to observe something until its mean is right to ±`within`.

    The rule of time study: n = (z s / (within x̄))², rounded up.

    Args:
        variation: the standard deviation of the times over their mean.
        within: a part of the mean, such as 0.05.
        errors: z, how many standard errors that must be; by default for 95 of 100.
    """
    return max(1, math.ceil((errors * variation / within) ** 2 - 1e-9))


def _key(row: dict[str, Any]) -> Key:
    return row["title"], row["step"], row["work"]


def _by_key(rows: Iterable[dict[str, Any]]) -> dict[Key, list[dict[str, Any]]]:
    found: dict[Key, list[dict[str, Any]]] = {}
    for row in rows:
        found.setdefault(_key(row), []).append(row)
    return found


def _step(
    row: dict[str, Any],
    fitted: Fitted,
    held: list[dict[str, Any]],
    slow: list[dict[str, Any]],
    notes: dict[tuple[Key, int], list[str]],
    trends: int,
    mechanic: str,
) -> StepTimes:
    book = _seconds(row["book_s"])
    cases = [
        SlowCase(
            r["job"], r["mechanic"], r["vehicle"], timedelta(seconds=r["active_s"]),
            tuple(notes.get((_key(r), r["job_number"]), ())),
        )
        for r in sorted(slow, key=lambda r: -r["active_s"])
    ]  # fmt: skip
    reasons = [Interruption(r["reason"], r["times"], timedelta(seconds=r["seconds"])) for r in held]
    return StepTimes(
        title=row["title"],
        step=row["step"],
        work=row["work"],
        act=row["act"],
        book=book,
        jobs=row["jobs"],
        mechanics=row["mechanics"],
        unfinished=row["unfinished"],
        repeated=row["repeated"],
        seen=_seconds(row["seen_s"]),
        mean=_seconds(row["mean_s"]),
        deviation=_seconds(row["deviation_s"]),
        predicted=fitted.step(Task(row["step"], row["work"], book or timedelta()), mechanic),
        trend=_trend(row, trends),
        interrupted=timedelta(seconds=row["interrupted_s"]),
        interruptions=tuple(sorted(reasons, key=lambda i: -i.together)),
        slowest=tuple(cases),
    )


def _seconds(number: float | None) -> timedelta | None:
    return None if number is None else timedelta(seconds=number)


def _finished(row: dict[str, Any]) -> int:
    return int(row["jobs"] - row["unfinished"])


def _trend(row: dict[str, Any], among: int) -> float | None:
    """The least-squares slope of the log time on the job's number, told only when it is more than chance.

    Args:
        among: how many steps are looked at for a trend.
    """
    n = _finished(row)
    if n < _FEWEST_FOR_TREND or not row["number_var"] or not row["log_var"]:
        return None
    slope = row["both_cov"] / row["number_var"]
    left = max(row["log_var"] - slope * row["both_cov"], 1e-12)
    error = math.sqrt(left / row["number_var"] / (n - 2))
    sure = t_quantile(1 - _FALSE_ALARM / (2 * among), n - 2)
    return math.expm1(slope * TREND_JOBS) if abs(slope) > sure * error else None
