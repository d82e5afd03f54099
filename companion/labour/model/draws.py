"""Sets of spreads drawn from their posterior, since the spreads are not known exactly.

Points are proposed from a multivariate t around the highest point (importance sampling). With q its density
and f the posterior, not normalised, each point has the weight w = f / q. Points taken by weight are as if
drawn from the posterior. The mean of w is the evidence of the model: how well it explains the data, whatever
the spreads are.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.mixed_model import Sums, log_posterior

Array = NDArray[np.float64]

_PROPOSED = 512
_FREEDOM = 6.0
_SEED = 20310401


@dataclass(frozen=True)
class Drawn:
    """n sets of log spreads, with their weights."""

    points: Array
    """(n, 4)"""
    weight: Array
    """(n,) Their sum is 1."""
    log_evidence: float
    """The log of the evidence, up to a constant that all models with four spreads share."""

    def take(self, count: int) -> Array:
        """Equally likely sets of spreads (not their logs), (count, 4). They are always the same."""
        ladder = (np.arange(count) + 0.5) / count
        return np.exp(self.points[np.searchsorted(np.cumsum(self.weight), ladder)])


def draw(sums: Sums, top: Array, curvature: Array) -> Drawn:
    """Draw from the posterior, given its highest point, (4,), and its curvature there, (4, 4)."""
    rng = np.random.default_rng(_SEED)
    half = rng.standard_normal((_PROPOSED // 2, len(top)))
    normal = np.vstack([half, -half])
    shrink = np.sqrt(np.tile(rng.chisquare(_FREEDOM, len(half)), 2) / _FREEDOM)
    t = normal / shrink[:, None]
    factor = np.linalg.cholesky(curvature)
    points = top + t @ np.linalg.inv(factor)
    log_proposal = np.log(np.diag(factor)).sum()
    log_proposal = log_proposal - 0.5 * (_FREEDOM + len(top)) * np.log1p((t**2).sum(1) / _FREEDOM)
    log_weight = log_posterior(sums, points) - log_proposal
    highest = log_weight.max()
    weight = np.exp(log_weight - highest)
    return Drawn(points, weight / weight.sum(), float(highest + np.log(weight.mean())))
