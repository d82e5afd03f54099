"""The spreads are not known exactly: sets of them drawn from their posterior, and how well a model explains
the data whatever they are.

Importance sampling from a multivariate t around the highest point: with q its density and f the unnormalised
posterior, w = f / q, the evidence of the model is the mean of w, and sets drawn with weight w are as if drawn
from the posterior.
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
    """Sets of log spreads, n of them, with their weights."""

    points: Array
    """(n, 4)"""
    weight: Array
    """(n,), with sum 1."""
    log_evidence: float
    """Up to a constant that all models with four spreads share."""

    def take(self, count: int) -> Array:
        """Equally likely sets of spreads (not their logs), (count, 4); always the same."""
        ladder = (np.arange(count) + 0.5) / count
        return np.exp(self.points[np.searchsorted(np.cumsum(self.weight), ladder)])


def draw(sums: Sums, top: Array, curvature: Array) -> Drawn:
    """From the posterior with that highest point, (4,), and that curvature there, (4, 4)."""
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
