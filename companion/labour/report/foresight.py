"""Were the ranges right? The later third of the jobs, foretold from the earlier two thirds alone."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from itertools import product

import numpy as np
from numpy.typing import NDArray

from companion.labour.collect import StepTable
from companion.labour.evidence import Evidence, evidence
from companion.labour.predict import Task
from companion.labour.report.data import Held

LEVELS = (0.5, 0.8, 0.95)
FEWEST_JOBS = 9
"""With fewer jobs of a procedure nothing is checked."""
_MOST_JOBS = 2000
"""So many of the latest jobs of a procedure are enough."""
_BOOK = timedelta(seconds=1)

Places = NDArray[np.float64]


def foresight(table: StepTable, title: str | None = None) -> tuple[Held, ...]:
    """Each level over all procedures (or the one named); empty when there are too few jobs."""
    return summed(place for one in evidence(table, title) for place in _places(table, one))


def summed(jobs: Iterable[Places]) -> tuple[Held, ...]:
    """From each job's places of its steps within their predicted distributions (0 to 1)."""
    told = [places for places in jobs if len(places)]
    return tuple(_held(level, told) for level in LEVELS) if told else ()


def _held(level: float, jobs: Sequence[Places]) -> Held:
    inside = [int((np.abs(places - 0.5) <= level / 2).sum()) for places in jobs]
    counts = [len(places) for places in jobs]
    steps, share = sum(counts), sum(inside) / sum(counts)
    # The ratio estimator over jobs: steps of one job are slow together, so jobs are what counts.
    spread = sum((i - share * n) ** 2 for i, n in zip(inside, counts, strict=True))
    error = math.sqrt(spread * len(jobs) / max(1, len(jobs) - 1)) / steps
    low, high = max(0.0, share - 1.96 * error), min(1.0, share + 1.96 * error)
    return Held(level, sum(inside), steps, len(jobs), low, high)


def _places(table: StepTable, one: Evidence) -> Iterator[Places]:
    """For each of the later jobs, where its finished times fell in what was foretold."""
    order = _by_date(table, one.title)
    known = len(order) * 2 // 3
    if len(order) < FEWEST_JOBS:
        return
    seen = one.observations
    past = order[max(0, known - 2 * _MOST_JOBS) : known]
    fitted = replace(one, observations=seen.rows(past), jobs=len(past)).fit()
    later = order[known:][-_MOST_JOBS:]
    logs, mechanics = seen.log_ratio[later], seen.mechanic[later]
    finished = ~np.isnan(logs) & ~seen.censored[later]
    places = np.zeros(logs.shape)
    for step, mechanic in product(range(logs.shape[1]), np.unique(mechanics)):
        which = finished[:, step] & (mechanics == mechanic)
        if which.any():
            task = Task(one.steps[step].step, one.steps[step].work, _BOOK)
            values = fitted.step(task, one.mechanics[mechanic]).values
            places[which, step] = np.searchsorted(values, np.exp(logs[which, step])) / len(values)
    for row, told in zip(places, finished, strict=True):
        yield row[told]


def _by_date(table: StepTable, title: str) -> NDArray[np.int64]:
    """Row numbers of the procedure's jobs, earliest first. Rows are in order of the job's name."""
    rows = table.query(
        "SELECT min(job_number) AS number FROM per_job WHERE title = $title GROUP BY job ORDER BY job",
        {"title": title},
    )
    return np.argsort(np.array([row["number"] for row in rows], dtype=np.int64), kind="stable")
