"""Were the ranges right? The later third of the jobs, foretold from the two thirds before."""

import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta
from itertools import product

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.fit import fit
from companion.labour.model.observations import Observed, observed
from companion.labour.report.report_data import Held
from companion.labour.table.collect import StepTable
from companion.labour.table.task import Task

LEVELS = (0.5, 0.8, 0.95)
FEWEST_JOBS = 9
"""With fewer jobs of a procedure, nothing is checked."""
_MOST_JOBS = 2000
"""The latest jobs of a procedure, so many, are enough."""

Places = NDArray[np.float64]


def foresight(table: StepTable, title: str | None = None) -> tuple[Held, ...]:
    """Each level over all procedures, or the one named. Empty where there are too few jobs."""
    return summed(place for one in observed(table, title) for place in _places(one))


def summed(jobs: Iterable[Places]) -> tuple[Held, ...]:
    """Each level, from where each job's times fell in what was foretold (0 to 1)."""
    told = [places for places in jobs if len(places)]
    return tuple(_held(level, told) for level in LEVELS) if told else ()


def _held(level: float, jobs: Sequence[Places]) -> Held:
    counts = np.array([len(places) for places in jobs])
    each = np.abs(np.concatenate(jobs) - 0.5) <= level / 2
    inside = np.add.reduceat(each, np.cumsum(counts) - counts, dtype=int)
    steps, share = int(counts.sum()), float(inside.sum() / counts.sum())
    # Steps of one job are slow together. So the error is that of a ratio over jobs, not over steps.
    spread = float(((inside - share * counts) ** 2).sum())
    error = math.sqrt(spread * len(jobs) / max(1, len(jobs) - 1)) / steps
    low, high = max(0.0, share - 1.96 * error), min(1.0, share + 1.96 * error)
    return Held(level, int(inside.sum()), steps, len(jobs), low, high)


def _places(one: Observed) -> Iterator[Places]:
    """For each later job, where its finished times fell in what was foretold."""
    order = np.argsort(one.number)
    known = len(order) * 2 // 3
    if len(order) < FEWEST_JOBS:
        return
    seen = one.observations
    past = order[max(0, known - 2 * _MOST_JOBS) : known]
    fitted = fit(one.rows(past))
    later = order[known:][-_MOST_JOBS:]
    logs, mechanics = seen.log_ratio[later], seen.mechanic[later]
    books = [s.book_s or 1.0 for s in one.steps]
    finished = ~np.isnan(logs) & ~seen.censored[later]
    places = np.zeros(logs.shape)
    for step, mechanic in product(range(logs.shape[1]), np.unique(mechanics)):
        which = finished[:, step] & (mechanics == mechanic)
        if which.any():
            task = Task(one.steps[step].step, one.steps[step].work, timedelta(seconds=books[step]))
            values = fitted.step(task, one.mechanics[mechanic]).values
            places[which, step] = np.searchsorted(values, books[step] * np.exp(logs[which, step])) / len(
                values
            )
    for row, told in zip(places, finished, strict=True):
        yield row[told]
