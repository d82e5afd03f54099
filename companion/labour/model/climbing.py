"""Where a smooth function of a few variables is highest, and how sharply it falls off there."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEP = 0.005
LOWEST, HIGHEST = -6.0, 2.0


def climb(f: Callable[[Array], Array], start: Array, tries: int = 60) -> tuple[Array, Array]:
    """The highest point near `start`, and the curvature (minus the Hessian, made positive definite) there.

    `f` maps (n, d) points to (n,) values. Newton's method on differences, with damping; a variable stays
    within LOWEST and HIGHEST (a spread that the data put at zero has its log at LOWEST).
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
    unit = np.eye(d) * STEP
    pairs = [(i, j) for i in range(d) for j in range(i)]
    corners = [unit[i] + unit[j] for i, j in pairs]
    points = np.vstack([np.zeros((1, d)), unit, -unit, *(np.array([c, -c]) for c in corners)])
    values = f(x + points)
    here, up, down = float(values[0]), values[1 : d + 1], values[d + 1 : 2 * d + 1]
    slope = (up - down) / (2 * STEP)
    hessian = np.diag((up - 2 * here + down) / STEP**2)
    for n, (i, j) in enumerate(pairs):
        both = values[2 * d + 1 + 2 * n] + values[2 * d + 2 + 2 * n]
        mixed = (both - up[i] - down[i] - up[j] - down[j] + 2 * here) / (2 * STEP**2)
        hessian[i, j] = hessian[j, i] = mixed
    return here, slope, hessian
