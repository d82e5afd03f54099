"""Do the times of one procedure show that its mechanics get faster at it?

The unit (Crawford) model: each doubling of the number of times done multiplies the time by the learning rate.
The n-th time is then T₁ nᵇ, with b = log₂ of the rate. (In Wright's model the average over the first n
follows that curve, which gives another table.)

In the mixed model (`mixed_model.py`) log T changes by log(rate) at each step of log₂ r, and r is counted over
the jobs on the procedure. Learning is told only when the 95 % range of the rate lies below 1 and the
likelihood gains more than the Bayesian information criterion asks for one more number. So a shop in which
nobody learns is rarely told that it does (0 to 3 of 100, see the benchmark). What is foretold does not wait
for that (`fit.py`).

The r-th is counted in the logs. What a mechanic did before the first of them is not known, and makes the
learning look less than it is.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.mixed_model import LEARNING, USUAL_LEARNING, Sums, log_posterior, solve
from companion.labour.model.most_likely import MostLikely
from companion.labour.model.normal import t_quantile
from companion.labour.model.observations import Observations

Array = NDArray[np.float64]

MODEL = "unit (Crawford)"
FEWEST_JOBS = 5
_FEWEST_REPEATS = 3
"""Somebody must have done the procedure so often."""


def nth_time(rate: float, n: int) -> float:
    """The time of the n-th, as a part of the first."""
    return float(n ** math.log2(rate))


def first_times(rate: float, n: int) -> float:
    """The time of the first n together, in times of the first."""
    return math.fsum(nth_time(rate, k) for k in range(1, n + 1))


@dataclass(frozen=True)
class Learnt:
    """Learning that the data show."""

    rate: float
    """Such as 0.88: an "88 % curve"."""
    low: float
    high: float
    """The 95 % range of the rate."""
    jobs: int

    def __str__(self) -> str:
        """Such as "getting faster: 88 % unit (Crawford) curve, 83 to 93 %, 12 jobs"."""
        return (
            f"getting faster: {100 * self.rate:.0f} % {MODEL} curve, "
            f"{100 * self.low:.0f} to {100 * self.high:.0f} %, {self.jobs} jobs"
        )


def learnt(seen: Observations, plain: MostLikely, learning: MostLikely) -> Learnt | None:
    """What the times show of learning, given the most likely spreads without and with it."""
    jobs = int(seen.timed.any(1).sum())
    degrees = jobs - len(np.unique(seen.mechanic)) - 1
    if seen.repetition is None or jobs < FEWEST_JOBS or degrees < 1:
        return None
    if seen.repetition.max() < _FEWEST_REPEATS:
        return None
    slope, error = _slope(learning)
    margin = t_quantile(0.975, degrees) * error
    if slope + margin >= 0:
        return None
    line = slope * np.log2(seen.repetition)[:, None]
    straight = Sums.of(replace(seen, log_ratio=plain.log_ratio - line, repetition=None), plain.extra)
    gain = float(
        log_posterior(straight, learning.top[None])[0] - log_posterior(plain.sums, plain.top[None])[0]
    )
    if 2 * gain <= math.log(jobs):
        return None
    return Learnt(math.exp(slope), math.exp(slope - margin), math.exp(slope + margin), jobs)


def _slope(learning: MostLikely) -> tuple[float, float]:
    """The slope on log₂ r and its standard error, as if nothing were known of it beforehand."""
    solved = solve(learning.sums, np.exp(learning.top)[None])
    beta, variance = solved.beta[0, -1], np.linalg.inv(solved.precision[0])[-1, -1]
    known = 1 / variance - LEARNING**-2.0
    return float((beta / variance - USUAL_LEARNING * LEARNING**-2.0) / known), float(known**-0.5)
