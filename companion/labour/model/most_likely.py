"""The most likely spreads of one procedure's times, with the censored times filled in.

A censored time enters as its expected value given that it is at least so long, with the variance that the
expectation leaves (expectation-maximisation).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.climbing import climb
from companion.labour.model.mixed_model import (
    SPREADS,
    TYPICAL_SPREADS,
    Design,
    Observations,
    Sums,
    log_posterior,
    solve,
)
from companion.labour.model.normal import hazard

Array = NDArray[np.float64]

START = np.log(TYPICAL_SPREADS)


@dataclass(frozen=True)
class Highest:
    """The highest point of the posterior of the log spreads."""

    sums: Sums
    top: Array
    """(4,)"""
    curvature: Array
    """(4, 4)"""
    log_ratio: Array
    """(jobs, steps) with the censored times filled in."""
    extra: Array
    """(jobs, steps) the variance of those."""


def highest(seen: Observations, start: Array = START) -> Highest:
    """Where something was timed."""
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
    return Highest(sums, top, curvature, filled.log_ratio, extra)


def _expected(
    seen: Observations, filled: Observations, sums: Sums, spreads: Array, censored: NDArray[np.bool_]
) -> tuple[Array, Array]:
    """Mean and variance of the censored log times, beyond what was seen of them."""
    sigma = float(spreads[0])
    line = line_of(seen, sums, spreads)
    middle = (line + cars(filled.log_ratio - line, filled.timed, spreads)[:, None])[censored]
    z = (seen.log_ratio[censored] - middle) / sigma
    steep = hazard(z)
    return middle + sigma * steep, sigma**2 * np.clip(1 + z * steep - steep**2, 0.0, 1.0)


def cars(off: Array, told: NDArray[np.bool_], spreads: Array) -> Array:
    """(jobs,) what is expected of c_j: the car, from how far the times that tell are `off` what is expected
    without it; both (jobs, steps)."""
    sigma2, job2 = spreads[0] ** 2, spreads[3] ** 2
    return np.asarray(np.where(told, off, 0.0).sum(1) * job2 / (sigma2 + told.sum(1) * job2), float)


def line_of(seen: Observations, sums: Sums, spreads: Array) -> Array:
    """What is expected of each log time, (jobs, steps), but for the car."""
    beta = solve(sums, spreads[None]).beta[0]
    each = beta[1 + sums.steps :][seen.mechanic]
    if sums.learning and seen.repetition is not None:
        each = each + beta[-1] * np.log2(seen.repetition)
    return np.asarray(beta[0] + beta[1 : 1 + sums.steps] + each[:, None], float)
