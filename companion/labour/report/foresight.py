"""Were the ranges right? The later third of the jobs, foretold from the two thirds before.

Some ranges hold too often, or too seldom, by chance alone. How far that goes is worked out by playing the
same later jobs from the fit itself, for which the ranges are right. Steps of one job are slow together, and
all later jobs share what the fit did not know of the shop, its people and its steps; so do the jobs played.
A verdict is given only where chance leaves little room, and right ranges are called wrong at most once in
twenty reports, over all levels together.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import product

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.fit import fit
from companion.labour.model.fitted import Fitted
from companion.labour.model.observations import Observed, observed
from companion.labour.report.report_data import Held
from companion.labour.table.collect import StepTable
from companion.labour.table.task import Task

LEVELS = (0.5, 0.8, 0.95)
FEWEST_JOBS = 9
"""With fewer jobs of a procedure, nothing is checked."""
_MOST_LATER, _MOST_BEFORE = 100, 600
"""The latest jobs of a procedure, so many, are enough to look at, and to foretell them from."""
PLAYED = 400
"""How often the later jobs are played from the fit."""
_CHANCE = 0.05 / len(LEVELS)
"""Of right ranges, so many are called wrong at each level."""
_SEED = 20310405

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Foretold:
    """The later jobs of one procedure."""

    jobs: int
    steps: int
    """How many finished step times they have."""
    inside: Whole
    """(levels,) How many of them fell inside."""
    played: Whole
    """(PLAYED, levels) The same in jobs played from the fit."""


def foresight(table: StepTable, title: str | None = None) -> tuple[Held, ...]:
    """Each level over all procedures, or the one named. Empty where there are too few jobs."""
    return summed(told for one in observed(table, title) for told in foretold(one))


def summed(told: Iterable[Foretold]) -> tuple[Held, ...]:
    """Each level over all procedures."""
    every = [one for one in told if one.steps]
    if not every:
        return ()
    steps, jobs = sum(one.steps for one in every), sum(one.jobs for one in every)
    inside = sum((one.inside for one in every), np.zeros(len(LEVELS), np.int64))
    shares = sum((one.played for one in every), np.zeros((PLAYED, len(LEVELS)), np.int64)) / steps
    low, high = np.quantile(shares, [_CHANCE / 2, 1 - _CHANCE / 2], axis=0)
    return tuple(
        Held(level, int(inside[n]), steps, jobs, float(low[n]), float(high[n]))
        for n, level in enumerate(LEVELS)
    )


def foretold(one: Observed) -> Iterator[Foretold]:
    """The later third of the jobs of one procedure, where there are enough."""
    order = np.argsort(one.number)
    known = len(order) * 2 // 3
    if len(order) < FEWEST_JOBS:
        return
    fitted = fit(one.rows(order[max(0, known - _MOST_BEFORE) : known]))
    later = order[known:][-_MOST_LATER:]
    seen = one.observations
    finished = seen.timed[later] & ~seen.censored[later]
    who = seen.mechanic[later]
    tasks = [Task(s.step, s.work, timedelta(seconds=s.book_s or 1.0)) for s in one.steps]
    took = fitted.books(tasks) * np.exp(np.where(finished, seen.log_ratio[later], 0.0))
    played = _played(fitted, tasks, [one.mechanics[m] for m in who])
    inside = np.zeros((1 + PLAYED, len(LEVELS)), np.int64)
    for step, mechanic in product(range(len(tasks)), np.unique(who)):
        which = finished[:, step] & (who == mechanic)
        if which.any():
            values = fitted.step(tasks[step], one.mechanics[mechanic]).values
            both = np.vstack([took[None, which, step], played[:, which, step]])
            off = np.abs(np.searchsorted(values, both) / len(values) - 0.5)
            inside += np.stack([(off <= level / 2).sum(1) for level in LEVELS], axis=1)
    yield Foretold(int(finished.any(1).sum()), int(finished.sum()), inside[0], inside[1:])


def _played(fitted: Fitted, tasks: Sequence[Task], mechanics: Sequence[str]) -> Array:
    """(PLAYED, jobs, steps) Jobs by these mechanics, in seconds, as the fit believes them."""
    rng = np.random.default_rng(_SEED)
    one = rng.integers(0, len(fitted.sigma), PLAYED)
    names = sorted(set(mechanics))
    shared = [fitted.shared(name) for name in names]
    job2 = fitted.job[one] ** 2
    doubt = [np.sqrt(np.maximum(variance[one] - job2, 0.0)) for _, variance in shared]
    mean, spread = fitted.logs(tasks)
    mean = mean - fitted.shared()[0][:, None]
    rest = fitted.sigma[:, None] * np.sqrt(fitted.varies(tasks))
    unknown = np.sqrt(np.maximum(spread**2 - rest**2, 0.0))
    step = mean[one] + unknown[one] * rng.standard_normal((PLAYED, len(tasks)))
    together = rng.standard_normal(PLAYED)
    person = np.stack([m[one] + d * together for (m, _), d in zip(shared, doubt, strict=True)], axis=1)
    cars = np.sqrt(job2)[:, None] * rng.standard_normal((PLAYED, len(mechanics)))
    each = person[:, [names.index(m) for m in mechanics]] + cars
    noise = rng.standard_normal((PLAYED, len(mechanics), len(tasks)), dtype=np.float32)
    logs = step[:, None, :] + each[:, :, None] + rest[one][:, None, :] * noise
    return fitted.with_odd(fitted.books(tasks) * np.exp(logs), rng)
