"""Times of which some are only known to be "at least": the plain tools for one set of them."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from companion.errors import LabourError
from companion.labour.model.climbing import climb

Array = NDArray[np.float64]

_erfc = np.vectorize(math.erfc, otypes=[float])


def normal_sf(z: Array) -> Array:
    """P(Z > z) for a standard normal Z."""
    return 0.5 * _erfc(z / math.sqrt(2))  # type: ignore[no-any-return]


def hazard(z: Array) -> Array:
    """E[Z | Z > z] for a standard normal Z: its density over its upper tail."""
    tail = normal_sf(np.minimum(z, 30.0))
    density = np.exp(-0.5 * np.minimum(z, 30.0) ** 2) / math.sqrt(2 * math.pi)
    return np.where(z > 30.0, z, density / tail)


def kaplan_meier(times: Sequence[float], seen: Sequence[bool]) -> tuple[Array, Array]:
    """The product-limit estimate: the distinct times at which something ended, and the share still going on
    just after each. `seen` is false where the time is "at least" (Kaplan and Meier 1958)."""
    t, ended = np.asarray(times, float), np.asarray(seen, bool)
    at = np.unique(t[ended])
    going_on = np.array([(t >= x).sum() for x in at], float)
    ends = np.array([(ended & (t == x)).sum() for x in at], float)
    return at, np.cumprod(1 - ends / going_on) if len(at) else np.zeros(0)


def median_of(times: Sequence[float], seen: Sequence[bool]) -> float:
    """The first time by which half have ended; infinite when fewer than half were seen to end."""
    at, share = kaplan_meier(times, seen)
    below = np.flatnonzero(share <= 0.5)
    return float(at[below[0]]) if len(below) else math.inf


def censored_lognormal(times: Sequence[float], seen: Sequence[bool]) -> tuple[float, float, float]:
    """Maximum likelihood of a log-normal: mean and standard deviation of the log time (times in the unit
    given), and the log-likelihood of the times. LabourError when none was seen to end."""
    t, ended = np.asarray(times, float), np.asarray(seen, bool)
    if not ended.any():
        raise LabourError("no time was seen to its end; at least one finished step is needed")
    y = np.log(t)

    def height(points: Array) -> Array:
        z = (y - points[:, :1] * scale - centre) / np.exp(points[:, 1:])
        density = -0.5 * z**2 - points[:, 1:] - y - 0.5 * math.log(2 * math.pi)
        beyond = np.log(np.maximum(normal_sf(z), 1e-300))
        return np.where(ended, density, beyond).sum(1)  # type: ignore[no-any-return]

    centre, scale = float(y.mean()), max(float(y.std()), 1e-3)
    found, _ = climb(height, np.array([0.0, math.log(scale)]))
    return centre + found[0] * scale, math.exp(found[1]), float(height(found[None])[0])
