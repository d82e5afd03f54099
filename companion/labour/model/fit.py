"""From the times of one procedure to what is believed about its steps (`Fitted`).

The spreads are not known exactly, least of all after one job, so they are not plugged in: `POINTS` sets of
spreads are drawn from their posterior (`draws.py`) and every prediction is the mixture over them. With
fixed seeds the same logs give the same numbers.

Censored times are filled in (`most_likely.py`). Times far off the rest, where there are more of them than
chance makes, are taken out of the spread that all times share and foretold apart (`odd_times.py`).

Steps share one spread; where the data show that they vary differently, each has its own part of it
(`uneven_steps.py`). Whether mechanics get faster with each repetition is not known either while jobs are few:
two models, with learning and without, share the sets of spreads by how likely each is given the data (their
evidence, and `LEARNING_IS_USUAL` before it). With learning the next job of a mechanic is the next repetition,
and somebody who has not done the procedure begins at the first. It is told only when the data show it
(`learnt.py`).
"""

import math
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.draws import draw
from companion.labour.model.fitted import ANYONE, OVER_SPREADS, Fitted, StepSeen
from companion.labour.model.learnt import learnt
from companion.labour.model.mixed_model import (
    BOOK_OFF,
    SPREAD_OF_SPREADS,
    SPREADS,
    TYPICAL_SPREADS,
    Observations,
    Sums,
    prior_mean,
    solve,
)
from companion.labour.model.most_likely import Highest, highest, line_of
from companion.labour.model.odd_times import without_odd
from companion.labour.model.uneven_steps import factors

Array = NDArray[np.float64]

POINTS = 64
LEARNING_IS_USUAL = 2 / 3
"""The chance, before anything is seen, that mechanics get faster (common practice, no source)."""
_SEED = 20310401


def fit(
    seen: Observations,
    steps: tuple[StepSeen, ...],
    mechanics: tuple[str, ...],
    title: str = "",
    jobs: int = 0,
) -> Fitted:
    """What the observations say; with no row at all, what the book says. `steps` and `mechanics` name the
    columns and the indices of `seen`."""
    if not seen.timed.any():
        return prior(title, steps, mechanics)
    seen, plain, odd = without_odd(seen)
    models, shown = [plain], None
    if seen.repetition is not None:
        models.append(highest(seen, plain.top))
        shown = learnt(seen, *models)
    believed = _weighed(models, seen, steps, mechanics)
    likelier = models[-1] if shown else plain
    spreads = np.exp(likelier.top)
    vary = factors(seen, line_of(seen, likelier.sums, spreads), spreads)
    return replace(believed, title=title, jobs=jobs, vary=vary, learnt=shown, odd=odd)


def prior(title: str = "", steps: tuple[StepSeen, ...] = (), mechanics: tuple[str, ...] = ()) -> Fitted:
    """The book time, and how far it may be off."""
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
    models: list[Highest], seen: Observations, steps: tuple[StepSeen, ...], mechanics: tuple[str, ...]
) -> Fitted:
    """The mixture of the models (the last of two is the one with learning)."""
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
        common[n, -len(ANYONE) :] += spread[2] ** 2
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
    """Who may do the next job, as what they add of beta's last part: each mechanic and then `ANYONE`."""
    people = np.eye(seen.mechanics + len(ANYONE), seen.mechanics + int(learning))
    if not learning or seen.repetition is None:
        people[seen.mechanics :] = 0.0
        return people
    times, most = np.zeros(seen.mechanics), np.zeros(seen.mechanics)
    np.add.at(times, seen.mechanic, 1.0)
    np.maximum.at(most, seen.mechanic, seen.repetition)
    people[seen.mechanics :] = 0.0
    people[: seen.mechanics, -1] = np.log2(most + 1)
    people[seen.mechanics, -1] = times @ np.log2(most + 1) / times.sum()
    return people


def _split(covariance: Array, number: int, who: Array) -> tuple[Array, Array]:
    """The variance of mu + a_s + what the person adds, as a part common to all steps (for each who) and a
    part of each step's own: the common part is the mean covariance of two steps."""
    steps = covariance[:1, :1] + covariance[1 : 1 + number, :1] + covariance[:1, 1 : 1 + number]
    steps = steps + covariance[1 : 1 + number, 1 : 1 + number]
    rest = covariance[1 + number :]
    with_person = who @ (rest[:, :1] + rest[:, 1 : 1 + number])
    people = np.einsum("ij,jk,ik->i", who, rest[:, 1 + number :], who)
    pairs = steps if number == 1 else steps[~np.eye(number, dtype=bool)]
    together = float(pairs.mean()) if number > 1 else float(covariance[0, 0])
    shared = max(0.0, min(together, float(np.diag(steps).min())))
    return np.diag(steps) - shared, np.maximum(shared + 2 * with_person.mean(1) + people, 1e-8)
