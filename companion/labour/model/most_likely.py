"""The most likely spreads of one procedure's times, with the censored times filled in.

A censored time stands in the sums as its expected value, given that it is at least so long. The variance
that this leaves is added (expectation-maximisation).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.mixed_model import (
    SPREADS,
    TYPICAL_SPREADS,
    Design,
    Sums,
    log_posterior,
    solve,
)
from companion.labour.model.normal import hazard
from companion.labour.model.observations import Observations

Array = NDArray[np.float64]

START = np.log(TYPICAL_SPREADS)
_STEP = 0.005
LOWEST, HIGHEST = -6.0, 2.0


@dataclass(frozen=True)
class MostLikely:
    """The highest point of the posterior of the log spreads."""

    sums: Sums
    top: Array
    """(4,) The log spreads."""
    curvature: Array
    """(4, 4) How sharply the posterior falls off there."""
    log_ratio: Array
    """(jobs, steps) The times, with the censored ones filled in."""
    extra: Array
    """(jobs, steps) The variance of those that were filled in."""


def most_likely(seen: Observations, start: Array = START) -> MostLikely:
    """The most likely spreads, where something was timed."""
    top, curvature = start, np.eye(len(SPREADS))
    censored = seen.censored & seen.timed
    filled, extra = seen, np.zeros(seen.log_ratio.shape)
    design = Design.of(seen)
    sums = design.sums(seen.log_ratio)
    for _ in range(60 if censored.any() else 1):
        top, curvature = climb(lambda x, s=sums: log_posterior(s, x), top)  # type: ignore[misc]
        if not censored.any():
            break
        values, extra_now = _expected(seen, filled, sums, np.exp(top), censored)
        moved = float(np.abs(values - filled.log_ratio[censored]).max())
        log_ratio = seen.log_ratio.copy()
        log_ratio[censored] = values
        extra = np.zeros(seen.log_ratio.shape)
        extra[censored] = extra_now
        filled = replace(seen, log_ratio=log_ratio)
        sums = design.sums(log_ratio, extra)
        if moved < 1e-3:
            break
    return MostLikely(sums, top, curvature, filled.log_ratio, extra)


def _expected(
    seen: Observations, filled: Observations, sums: Sums, spreads: Array, censored: NDArray[np.bool_]
) -> tuple[Array, Array]:
    """The mean and variance of the censored log times, given that they are at least so long."""
    sigma = float(spreads[0])
    line = line_of(seen, sums, spreads)
    middle = (line + cars(filled.log_ratio - line, filled.timed, spreads)[:, None])[censored]
    z = (seen.log_ratio[censored] - middle) / sigma
    steep = hazard(z)
    return middle + sigma * steep, sigma**2 * np.clip(1 + z * steep - steep**2, 0.0, 1.0)


def cars(off: Array, told: NDArray[np.bool_], spreads: Array) -> Array:
    """What is expected of the car of each job, c_j, (jobs,).

    Args:
        off: (jobs, steps) How far each time is from what is expected without the car.
        told: (jobs, steps) Which of them count.
    """
    sigma2, job2 = spreads[0] ** 2, spreads[3] ** 2
    return np.asarray(np.where(told, off, 0.0).sum(1) * job2 / (sigma2 + told.sum(1) * job2), float)


def line_of(seen: Observations, sums: Sums, spreads: Array) -> Array:
    """What is expected of each log time, (jobs, steps), without the car."""
    beta = solve(sums, spreads[None]).beta[0]
    each = beta[1 + sums.steps :][seen.mechanic]
    if sums.learning and seen.repetition is not None:
        each = each + beta[-1] * np.log2(seen.repetition)
    return np.asarray(beta[0] + beta[1 : 1 + sums.steps] + each[:, None], float)


def climb(f: Callable[[Array], Array], start: Array, tries: int = 60) -> tuple[Array, Array]:
    """The highest point of `f` near `start`, by Newton's method on differences, with damping.

    A variable stays within LOWEST and HIGHEST: a spread that the data put at zero has its log at LOWEST.

    Args:
        f: maps (n, d) points to (n,) values.

    Returns:
        The point, and the curvature there: minus the Hessian, made positive definite.
    """
    x = np.array(start, float)
    curvature = np.eye(len(x))
    for _ in range(tries):
        here, slope, hessian = _derivatives(f, x)
        stuck = ((x <= LOWEST + 1e-9) & (slope < 0)) | ((x >= HIGHEST - 1e-9) & (slope > 0))
        values, vectors = np.linalg.eigh(-hessian)
        curvature = (vectors * np.maximum(np.abs(values), 1e-3)) @ vectors.T
        free = ~stuck
        step = np.zeros_like(x)
        step[free] = np.linalg.solve(curvature[np.ix_(free, free)], slope[free])
        step *= min(1.0, 1.5 / max(float(np.abs(step).max()), 1e-12))
        candidates = np.clip(x + np.outer([1.0, 0.5, 0.2, 0.05, 0.01], step), LOWEST, HIGHEST)
        heights = f(candidates)
        best = int(np.argmax(heights))
        if heights[best] - here < 1e-7:
            break
        x = candidates[best]
    return x, curvature


def _derivatives(f: Callable[[Array], Array], x: Array) -> tuple[float, Array, Array]:
    d = len(x)
    unit = np.eye(d) * _STEP
    pairs = [(i, j) for i in range(d) for j in range(i)]
    corners = [unit[i] + unit[j] for i, j in pairs]
    points = np.vstack([np.zeros((1, d)), unit, -unit, *(np.array([c, -c]) for c in corners)])
    values = f(x + points)
    here, up, down = float(values[0]), values[1 : d + 1], values[d + 1 : 2 * d + 1]
    slope = (up - down) / (2 * _STEP)
    hessian = np.diag((up - 2 * here + down) / _STEP**2)
    for n, (i, j) in enumerate(pairs):
        both = values[2 * d + 1 + 2 * n] + values[2 * d + 2 + 2 * n]
        mixed = (both - up[i] - down[i] - up[j] - down[j] + 2 * here) / (2 * _STEP**2)
        hessian[i, j] = hessian[j, i] = mixed
    return here, slope, hessian
