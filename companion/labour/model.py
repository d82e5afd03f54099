"""From the times of one procedure to what is believed about its steps (`Fitted`).

The spreads are not known exactly, least of all after one job, so they are not plugged in: `POINTS` sets of
spreads are drawn from their posterior (importance sampling from a multivariate t around its highest point)
and every prediction is the mixture over them. With fixed seeds the same logs give the same numbers.

A censored time enters as its expected value given that it is at least so long, with the variance that the
expectation leaves (expectation-maximisation).
"""

import numpy as np
from numpy.typing import NDArray

from companion.labour.climbing import climb
from companion.labour.fitted import Fitted, StepSeen
from companion.labour.mixed import (
    BOOK_OFF,
    SPREAD_OF_SPREADS,
    SPREADS,
    TYPICAL_SPREADS,
    Observations,
    Sums,
    log_posterior,
    solve,
)
from companion.labour.survival import hazard

Array = NDArray[np.float64]

POINTS = 64
_PROPOSED = 512
_FREEDOM = 6.0
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
    sums, top, curvature = _highest(seen)
    if sums is None:
        return prior(title, steps, mechanics)
    spreads = np.exp(_drawn(sums, top, curvature))
    return _believed(sums, spreads, steps, mechanics, title, jobs)


def prior(title: str = "", steps: tuple[StepSeen, ...] = (), mechanics: tuple[str, ...] = ()) -> Fitted:
    """The book time, and how far it may be off."""
    normal = np.random.default_rng(_SEED).standard_normal((POINTS // 2, len(SPREADS)))
    spreads = TYPICAL_SPREADS * np.exp(SPREAD_OF_SPREADS * np.vstack([normal, -normal]))
    people = len(mechanics) + 1
    return Fitted(
        title=title,
        jobs=0,
        steps=steps,
        mechanics=mechanics,
        sigma=spreads[:, 0],
        job=spreads[:, 3],
        new_step=spreads[:, 1],
        base=np.zeros(POINTS),
        mean=np.zeros((POINTS, len(steps))),
        own=np.repeat(spreads[:, 1:2] ** 2, len(steps), 1),
        person=np.zeros((POINTS, people)),
        common=np.repeat(BOOK_OFF**2 + spreads[:, 2:3] ** 2, people, 1),
    )


def _highest(seen: Observations) -> tuple[Sums | None, Array, Array]:
    """Sums with the censored times filled in, and the highest point of the posterior of the log spreads."""
    top = np.log(TYPICAL_SPREADS)
    if not seen.timed.any():
        return None, top, np.eye(4)
    censored = seen.censored & seen.timed
    filled, extra = seen, np.zeros(seen.log_ratio.shape)
    curvature = np.eye(4)
    for _ in range(60 if censored.any() else 1):
        sums = Sums.of(filled, extra)
        top, curvature = climb(lambda x, s=sums: log_posterior(s, x), top)  # type: ignore[misc]
        if not censored.any():
            break
        values, extra_now = _expected(seen, filled, sums, np.exp(top), censored)
        moved = float(np.abs(values - filled.log_ratio[censored]).max())
        log_ratio = seen.log_ratio.copy()
        log_ratio[censored] = values
        extra = np.zeros(seen.log_ratio.shape)
        extra[censored] = extra_now
        filled = Observations(log_ratio, seen.censored, seen.mechanic, seen.mechanics)
        if moved < 1e-3:
            break
    return Sums.of(filled, extra), top, curvature


def _expected(
    seen: Observations, filled: Observations, sums: Sums, spreads: Array, censored: NDArray[np.bool_]
) -> tuple[Array, Array]:
    """Mean and variance of the censored log times, beyond what was seen of them."""
    beta = solve(sums, spreads[None]).beta[0]
    sigma2, job2 = spreads[0] ** 2, spreads[3] ** 2
    line = beta[0] + beta[1 : 1 + sums.steps] + beta[1 + sums.steps :][seen.mechanic][:, None]
    left = np.where(filled.timed, filled.log_ratio - line, 0.0).sum(1)
    job = job2 / (sigma2 + filled.timed.sum(1) * job2) * left
    middle = (line + job[:, None])[censored]
    sigma = float(np.sqrt(sigma2))
    z = (seen.log_ratio[censored] - middle) / sigma
    steep = hazard(z)
    return middle + sigma * steep, sigma2 * np.clip(1 + z * steep - steep**2, 0.0, 1.0)


def _drawn(sums: Sums, top: Array, curvature: Array) -> Array:
    """POINTS equally likely sets of log spreads, (POINTS, 4)."""
    rng = np.random.default_rng(_SEED)
    half = rng.standard_normal((_PROPOSED // 2, len(top)))
    normal = np.vstack([half, -half])
    shrink = np.sqrt(np.tile(rng.chisquare(_FREEDOM, len(half)), 2) / _FREEDOM)
    t = normal / shrink[:, None]
    points = top + t @ np.linalg.inv(np.linalg.cholesky(curvature))
    log_proposal = -0.5 * (_FREEDOM + len(top)) * np.log1p((t**2).sum(1) / _FREEDOM)
    log_weight = log_posterior(sums, points) - log_proposal
    weight = np.exp(log_weight - log_weight.max())
    ladder = (np.arange(POINTS) + 0.5) / POINTS
    return points[np.searchsorted(np.cumsum(weight) / weight.sum(), ladder)]


def _believed(
    sums: Sums, spreads: Array, steps: tuple[StepSeen, ...], mechanics: tuple[str, ...], title: str, jobs: int
) -> Fitted:
    number = sums.steps
    mean = np.empty((POINTS, number))
    own = np.empty((POINTS, number))
    base = np.empty(POINTS)
    person = np.zeros((POINTS, len(mechanics) + 1))
    common = np.empty((POINTS, len(mechanics) + 1))
    for n, spread in enumerate(spreads):
        solved = solve(sums, spread[None])
        beta, covariance = solved.beta[0], np.linalg.inv(solved.precision[0])
        base[n] = beta[0]
        mean[n] = beta[0] + beta[1 : 1 + number]
        person[n, :-1] = beta[1 + number :]
        own[n], common[n] = _split(covariance, number, float(spread[2]) ** 2)
    return Fitted(
        title=title,
        jobs=jobs,
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


def _split(covariance: Array, number: int, mechanic2: float) -> tuple[Array, Array]:
    """The variance of mu + a_s + b_m as a part common to all steps (for each mechanic, and last for one not
    met before) and a part of each step's own: the common part is the mean covariance of two steps."""
    steps = covariance[:1, :1] + covariance[1 : 1 + number, :1] + covariance[:1, 1 : 1 + number]
    steps = steps + covariance[1 : 1 + number, 1 : 1 + number]
    with_person = covariance[0, 1 + number :] + covariance[1 : 1 + number, 1 + number :]
    people = np.diag(covariance)[1 + number :]
    pairs = steps if number == 1 else steps[~np.eye(number, dtype=bool)]
    stranger = float(pairs.mean()) if number > 1 else float(covariance[0, 0])
    floor = float(np.diag(steps).min())
    shared = max(0.0, min(stranger, floor))
    common = shared + 2 * with_person.mean(0) + people
    own = np.diag(steps) - shared
    return own, np.append(np.maximum(common, 1e-8), shared + mechanic2)
