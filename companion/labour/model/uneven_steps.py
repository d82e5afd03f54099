"""How much each step varies, against the spread that all steps share.

The mixed model has one sigma for all steps. But steps differ: an oil change is always the same, a seized bolt
is not. So each step gets a part of its own, drawn towards the shared sigma by as much as the data ask for.
With q_s the residual variance of step s over sigma², on d_s degrees of freedom, its part is

    f_s = (d_0 + d_s q_s) / (d_0 + d_s),    d_0 = 2 / (variance of the true ratios).

The variance of the true ratios is that of the q_s, less what chance alone gives them (2 / d_s): empirical
Bayes on an inverse-gamma prior, by moments. It was measured over 150 shops whose sigmas differ (by a standard
deviation of 0.5 of their logs). It takes 3 % off the CRPS at 10 and at 30 jobs, and the 50 % ranges of steps
come to hold 53 of 100 where they held 59. Where steps are alike it changes less than 0.1 %.
"""

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.most_likely import cars
from companion.labour.model.observations import Observations

Array = NDArray[np.float64]

_FEWEST_STEPS = 3
_FEWEST_FREE = 2.0
_LEAST_PRIOR = 4.0
"""d_0 is at least this, however much steps seem to differ."""


def factors(seen: Observations, line: Array, spreads: Array) -> Array:
    """The part f of each step, (steps,). It is 1 where too little was seen.

    Args:
        seen: the times; censored ones are left out.
        line: (jobs, steps) What is expected of each time without the car.
        spreads: (4,) in the order of `mixed_model.SPREADS`.
    """
    whole = seen.timed & ~seen.censored
    off, each = seen.log_ratio - line, whole.sum(1)
    squares = np.where(whole, off - cars(off, whole, spreads)[:, None], 0.0) ** 2
    free = (whole * (1 - 1 / np.maximum(each, 1))[:, None]).sum(0) - 1
    told = free >= _FEWEST_FREE
    found = np.ones(whole.shape[1])
    if told.sum() < _FEWEST_STEPS:
        return found
    d = free[told]
    q = squares.sum(0)[told] / spreads[0] ** 2 / d
    q /= (d * q).sum() / d.sum()
    excess = (d * ((q - 1) ** 2 - 2 / d)).sum() / (d * (1 + 2 / d)).sum()
    if excess > 0:
        prior = max(_LEAST_PRIOR, 2 / excess)
        found[told] = (prior + d * q) / (prior + d)
    return found
