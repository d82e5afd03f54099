"""What is needed of the normal distribution and of Student's t, without SciPy."""

import math
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

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


def normal_points(count: int) -> Array:
    """Equally likely values that stand for a standard normal.

    They are stretched to its variance, so that means of log-normals come out right.
    """
    middles = np.array([NormalDist().inv_cdf((n + 0.5) / count) for n in range(count)])
    return middles / math.sqrt(float((middles**2).mean()))


def t_quantile(p: float, degrees: int) -> float:
    """A quantile of Student's t.

    It is exact for 1 and 2 degrees of freedom. For more it is a Cornish-Fisher expansion (from memory; in any
    handbook of functions), which the tests hold to within 1 %.
    """
    if degrees == 1:
        return math.tan(math.pi * (p - 0.5))
    if degrees == 2:
        return (2 * p - 1) * math.sqrt(2 / (4 * p * (1 - p)))
    z = NormalDist().inv_cdf(p)
    terms = (
        z,
        (z**3 + z) / 4,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
        (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160,
    )
    return math.fsum(term / float(degrees) ** power for power, term in enumerate(terms))
