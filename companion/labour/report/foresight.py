"""Were the ranges right? The later third of the jobs, foretold from the earlier two thirds alone."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from itertools import product

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.observations import Evidence, evidence
from companion.labour.model.prediction import Task
from companion.labour.report.report_data import Held
from companion.labour.table.collect import StepTable

LEVELS = (0.5, 0.8, 0.95)
FEWEST_JOBS = 9
"""With fewer jobs of a procedure nothing is checked."""
_MOST_JOBS = 2000
"""So many of the latest jobs of a procedure are enough."""
_BOOK = timedelta(seconds=1)

Places = NDArray[np.float64]


def foresight(table: StepTable, title: str | None = None) -> tuple[Held, ...]:
    """Each level over all procedures (or the one named); empty when there are too few jobs."""
    return summed(place for one in evidence(table, title) for place in _places(one))


def summed(jobs: Iterable[Places]) -> tuple[Held, ...]:
    """From each job's places of its steps within their predicted distributions (0 to 1)."""
    told = [places for places in jobs if len(places)]
    return tuple(_held(level, told) for level in LEVELS) if told else ()


def _held(level: float, jobs: Sequence[Places]) -> Held:
    counts = np.array([len(places) for places in jobs])
    each = np.abs(np.concatenate(jobs) - 0.5) <= level / 2
    inside = np.add.reduceat(each, np.cumsum(counts) - counts, dtype=int)
    steps, share = int(counts.sum()), float(inside.sum() / counts.sum())
    # The ratio estimator over jobs: steps of one job are slow together, so jobs are what counts.
    spread = float(((inside - share * counts) ** 2).sum())
    error = math.sqrt(spread * len(jobs) / max(1, len(jobs) - 1)) / steps
    low, high = max(0.0, share - 1.96 * error), min(1.0, share + 1.96 * error)
    return Held(level, int(inside.sum()), steps, len(jobs), low, high)


def _places(one: Evidence) -> Iterator[Places]:
    """For each of the later jobs, where its finished times fell in what was foretold."""
    order = np.argsort(one.number)
    known = len(order) * 2 // 3
    if len(order) < FEWEST_JOBS:
        return
    seen = one.observations
    past = order[max(0, known - 2 * _MOST_JOBS) : known]
    fitted = replace(one, observations=seen.rows(past), number=one.number[past], jobs=len(past)).fit()
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
