"""From the times of one procedure to what is believed about its steps (`Fitted`).

The spreads are not known exactly, least of all after one job. So `POINTS` sets of them are drawn from their
posterior (`draws.py`), and every prediction is the mixture over the sets. Seeds are fixed: the same logs give
the same numbers.

- Censored times are filled in (`most_likely.py`).
- Times far off the rest are taken out of the fit where chance does not make so many, and foretold apart
  (`odd_times.py`).
- Steps share one spread. Where the data show that steps vary differently, each gets its own part of it
  (`uneven_steps.py`).
- While jobs are few, nobody knows whether mechanics get faster. So two models share the sets of spreads, with
  learning and without, each by how likely it is: by its evidence, and by `LEARNING_IS_USUAL` beforehand. With
  learning, the next job of a mechanic is the next repetition, and somebody new begins at the first. Learning
  is told only when the data show it (`learning.py`).
"""

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.draws import draw
from companion.labour.model.fitted import ANYONE, OVER_SPREADS, Fitted
from companion.labour.model.learning import learnt
from companion.labour.model.mixed_model import (
    BOOK_OFF,
    SPREAD_OF_SPREADS,
    SPREADS,
    TYPICAL_SPREADS,
    Sums,
    prior_mean,
    solve,
)
from companion.labour.model.most_likely import MostLikely, line_of, most_likely
from companion.labour.model.observations import Observations, Observed, StepSeen, observed
from companion.labour.model.odd_times import without_odd
from companion.labour.model.uneven_steps import factors
from companion.labour.table.collect import StepTable
from companion.labour.table.task import Task

Array = NDArray[np.float64]

POINTS = 64
LEARNING_IS_USUAL = 1 / 3
"""The chance, before anything is seen, that mechanics get faster (common practice, no source)."""
_SEED = 20310401


def fit(one: Observed) -> Fitted:
    """What the times of a procedure say about its next job; what the book says, where there are none."""
    seen = one.observations
    if not seen.timed.any():
        return prior(one.title, one.steps, one.mechanics)
    seen, plain, odd = without_odd(seen)
    models, shown = [plain], None
    if seen.repetition is not None:
        models.append(most_likely(seen, plain.top))
        shown = learnt(seen, *models)
    believed = _weighed(models, seen, one.steps, one.mechanics)
    likelier = models[-1] if shown else plain
    spreads = np.exp(likelier.top)
    vary = factors(seen, line_of(seen, likelier.sums, spreads), spreads)
    return replace(believed, title=one.title, jobs=one.jobs, vary=vary, learnt=shown, odd=odd)


def fit_title(table: StepTable, title: str, tasks: Iterable[Task] = ()) -> Fitted:
    """The fit of the procedure with that title; the book alone where none of it was timed.

    Args:
        tasks: its steps as they are now, whose book times count.
    """
    for one in observed(table, title):
        return fit(one.by_book(tasks))
    return prior(title)


def prior(title: str = "", steps: tuple[StepSeen, ...] = (), mechanics: tuple[str, ...] = ()) -> Fitted:
    """What is believed when nothing was timed: the book time, and how far it may be off."""
    normal = np.random.default_rng(_SEED).standard_normal((POINTS // 2, len(SPREADS)))
    spreads = TYPICAL_SPREADS * np.exp(SPREAD_OF_SPREADS * np.vstack([normal, -normal]))
    people = len(mechanics) + len(ANYONE)
    base = prior_mean(spreads)
    return Fitted(
        title=title,
        jobs=0,
        steps=steps,
        mechanics=mechanics,
        sigma=spreads[:, 0],
        job=spreads[:, 3],
        new_step=spreads[:, 1],
        base=base,
        mean=np.repeat(base[:, None], len(steps), 1),
        own=np.repeat(spreads[:, 1:2] ** 2, len(steps), 1),
        person=np.zeros((POINTS, people)),
        common=np.repeat(BOOK_OFF**2 + spreads[:, 2:3] ** 2, people, 1),
    )


def _weighed(
    models: list[MostLikely], seen: Observations, steps: tuple[StepSeen, ...], mechanics: tuple[str, ...]
) -> Fitted:
    """The mixture of the models, each by how likely it is. The second is the one with learning."""
    drawn = [draw(m.sums, m.top, m.curvature) for m in models]
    shares = [POINTS]
    if len(models) > 1:
        ahead = drawn[1].log_evidence - drawn[0].log_evidence
        before = math.log(LEARNING_IS_USUAL / (1 - LEARNING_IS_USUAL))
        learning = round(POINTS / (1 + math.exp(min(-ahead - before, 700.0))))
        shares = [POINTS - learning, learning]
    parts = [
        _believed(m.sums, d.take(share), seen, steps, mechanics)
        for m, d, share in zip(models, drawn, shares, strict=True)
        if share
    ]
    both: dict[str, Any] = {
        name: np.concatenate([getattr(part, name) for part in parts]) for name in OVER_SPREADS
    }
    return replace(parts[0], **both)


def _believed(
    sums: Sums, spreads: Array, seen: Observations, steps: tuple[StepSeen, ...], mechanics: tuple[str, ...]
) -> Fitted:
    number = sums.steps
    who = _who(seen, sums.learning)
    works = np.bincount(seen.mechanic, minlength=seen.mechanics) / len(seen.mechanic)
    mean = np.empty((len(spreads), number))
    own = np.empty((len(spreads), number))
    base = np.empty(len(spreads))
    person = np.empty((len(spreads), len(who)))
    common = np.empty((len(spreads), len(who)))
    for n, spread in enumerate(spreads):
        solved = solve(sums, spread[None])
        beta, covariance = solved.beta[0], np.linalg.inv(solved.precision[0])
        base[n] = beta[0]
        mean[n] = beta[0] + beta[1 : 1 + number]
        person[n] = who @ beta[1 + number :]
        own[n], common[n] = _split(covariance, number, who)
        common[n, -1] += spread[2] ** 2
        here, there = person[n, : seen.mechanics], common[n, : seen.mechanics]
        person[n, -2] = works @ here
        common[n, -2] = works @ (there + (here - works @ here) ** 2)
    return Fitted(
        title="",
        jobs=0,
        steps=steps,
        mechanics=mechanics,
        sigma=spreads[:, 0],
        job=spreads[:, 3],
        new_step=spreads[:, 1],
        base=base,
        mean=mean,
        own=own,
        person=person,
        common=common,
    )


def _who(seen: Observations, learning: bool) -> Array:
    """Who may do the next job, each as weights on the last part of beta: the mechanics, then `ANYONE`.

    One of those who work there is a mixture of them, made afterwards.
    """
    people = np.eye(seen.mechanics + len(ANYONE), seen.mechanics + int(learning))
    people[seen.mechanics :] = 0.0
    if learning and seen.repetition is not None:
        most = np.zeros(seen.mechanics)
        np.maximum.at(most, seen.mechanic, seen.repetition)
        people[: seen.mechanics, -1] = np.log2(most + 1)
    return people


def _split(covariance: Array, number: int, who: Array) -> tuple[Array, Array]:
    """The variance of mu + a_s + what the person adds, in two parts.

    One part is each step's own. The other is common to all steps, for each who: the mean covariance of two
    steps.
    """
    steps = covariance[:1, :1] + covariance[1 : 1 + number, :1] + covariance[:1, 1 : 1 + number]
    steps = steps + covariance[1 : 1 + number, 1 : 1 + number]
    rest = covariance[1 + number :]
    with_person = who @ (rest[:, :1] + rest[:, 1 : 1 + number])
    people = np.einsum("ij,jk,ik->i", who, rest[:, 1 + number :], who)
    pairs = steps if number == 1 else steps[~np.eye(number, dtype=bool)]
    together = float(pairs.mean()) if number > 1 else float(covariance[0, 0])
    shared = max(0.0, min(together, float(np.diag(steps).min())))
    return np.diag(steps) - shared, np.maximum(shared + 2 * with_person.mean(1) + people, 1e-8)
