"""Learning curves: each doubling of the number of times done multiplies the time by the learning rate.

Two models carry that name, and give different tables:

- unit (Crawford): the time of the n-th is T₁ nᵇ;
- cumulative average (Wright): the average over the first n is T₁ nᵇ;

with b = log₂ of the rate. Both are fitted to the times of single jobs, on logarithms. Averages are never
regressed: each contains the one before, so that noise alone would look like a smooth curve.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from companion.errors import LabourError

Floats = NDArray[np.float64]
_SHUFFLES = 1999
_FEWEST = 5
"""With fewer times than this over all series no curve is fitted."""


class LearningModel(StrEnum):
    """Which time falls by the rate at each doubling."""

    UNIT = "unit (Crawford)"
    CUMULATIVE_AVERAGE = "cumulative average (Wright)"


@dataclass(frozen=True)
class LearningCurve:
    """The n-th time and the total of the first n (from n = 1), in the unit of `first`."""

    first: float
    rate: float
    """Such as 0.8: an "80 % curve". 1 is no learning."""
    model: LearningModel = LearningModel.UNIT

    @property
    def exponent(self) -> float:
        """b, at most 0 when there is learning."""
        return math.log2(self.rate)

    def time(self, n: int) -> float:
        """The time of the n-th."""
        return self.first * float(_shape(np.array([float(n)]), self.exponent, self.model)[0])

    def total(self, n: int) -> float:
        """The time of the first n together."""
        if self.model is LearningModel.CUMULATIVE_AVERAGE:
            return self.first * float(n ** (1 + self.exponent))
        return self.first * float((np.arange(1, n + 1, dtype=np.float64) ** self.exponent).sum())


def _shape(n: Floats, exponent: float, model: LearningModel) -> Floats:
    """The time of the n-th relative to the first."""
    if model is LearningModel.UNIT:
        return np.asarray(n**exponent, dtype=np.float64)
    return np.asarray(n ** (1 + exponent) - (n - 1) ** (1 + exponent), dtype=np.float64)


@dataclass(frozen=True)
class LearningFit:
    """What the times say about learning."""

    curve: LearningCurve
    """`first` is the geometric mean over the series of their first times."""
    low: float
    high: float
    """The 90 % range of the rate (of the unit model's slope, by the t distribution)."""
    p: float
    """How often times in random order would show a fall this steep (one-sided permutation test)."""
    times: int
    series: int

    def shown(self, level: float = 0.05) -> bool:
        """Do the data show learning? When many steps are asked at once, use `learners`."""
        return self.p <= level

    def __str__(self) -> str:
        """One sentence, that also says when nothing was shown."""
        if not self.shown():
            return f"no learning shown in {self.times} times (p {self.p:.2f})"
        return (
            f"{100 * self.curve.rate:.0f} % {self.curve.model} learning curve "
            f"({100 * self.low:.0f} to {100 * self.high:.0f} %, {self.times} times, p {self.p:.3f})"
        )


def fit_learning(
    series: Sequence[Sequence[float]], model: LearningModel = LearningModel.UNIT, seed: int = 0
) -> LearningFit:
    """Fit one rate to the times of several mechanics.

    Args:
        series: for each mechanic, the times of one step in the order in which they did it. Mechanics
            keep their own level; the rate is common.
        model: which curve.
        seed: of the shuffles.

    Raises:
        LabourError: fewer than five times, none of them repeats, or one that is not positive.
    """
    kept = [np.asarray(one, dtype=np.float64) for one in series if len(one) >= 2]
    count = sum(len(one) for one in kept)
    degrees = count - len(kept) - 1
    if count < _FEWEST or degrees < 1:
        raise LabourError(f"{count} repeated times are too few for a learning curve; {_FEWEST} are needed")
    if any(not np.all(np.isfinite(one) & (one > 0)) for one in kept):
        raise LabourError("a time is not positive; remove it before fitting a learning curve")
    logs = [np.log(one) for one in kept]
    numbers = [np.arange(1, len(one) + 1, dtype=np.float64) for one in kept]
    x = np.concatenate([np.log2(n) - np.log2(n).mean() for n in numbers])
    rest = np.concatenate([one - one.mean() for one in logs])
    slope = float(x @ rest / (x @ x))
    error = math.sqrt(float(((rest - slope * x) ** 2).sum()) / degrees / float(x @ x))
    margin = t_quantile(0.95, degrees) * error
    exponent = slope / math.log(2)
    if model is LearningModel.CUMULATIVE_AVERAGE:
        exponent = _wright_exponent(logs, numbers)
    firsts = [(y - np.log(_shape(n, exponent, model))).mean() for y, n in zip(logs, numbers, strict=True)]
    return LearningFit(
        LearningCurve(math.exp(float(np.mean(firsts))), 2.0**exponent, model),
        math.exp(slope - margin),
        math.exp(slope + margin),
        _permutation_p(logs, numbers, float(x @ rest), seed),
        count,
        len(kept),
    )


def _wright_exponent(logs: list[Floats], numbers: list[Floats]) -> float:
    """Least squares on the logarithms of single times: a grid, then golden section around its best."""

    def misfit(exponent: float) -> float:
        total = 0.0
        for y, n in zip(logs, numbers, strict=True):
            rest = y - np.log(_shape(n, exponent, LearningModel.CUMULATIVE_AVERAGE))
            total += float(((rest - rest.mean()) ** 2).sum())
        return total

    grid = np.linspace(-0.99, 2.0, 120)
    best = int(np.argmin([misfit(float(b)) for b in grid]))
    low, high = float(grid[max(best - 1, 0)]), float(grid[min(best + 1, len(grid) - 1)])
    golden = (math.sqrt(5) - 1) / 2
    while high - low > 1e-9:
        left, right = high - golden * (high - low), low + golden * (high - low)
        if misfit(left) <= misfit(right):
            high = right
        else:
            low = left
    return (low + high) / 2


def _permutation_p(logs: list[Floats], numbers: list[Floats], observed: float, seed: int) -> float:
    """How often shuffled series fall at least as steeply; the order given counts as one shuffle."""
    random = np.random.default_rng(seed)
    sums = np.zeros(_SHUFFLES)
    for y, n in zip(logs, numbers, strict=True):
        centred = np.log2(n) - np.log2(n).mean()
        shuffled = random.permuted(np.broadcast_to(y - y.mean(), (_SHUFFLES, len(y))), axis=1)
        sums += shuffled @ centred
    return float(1 + np.count_nonzero(sums <= observed + 1e-12)) / (_SHUFFLES + 1)


def learners(p_values: Sequence[float], level: float = 0.05) -> tuple[bool, ...]:
    """Which of many fits show learning, with at most `level` chance of any false claim (Holm's method)."""
    shown = [False] * len(p_values)
    for place, index in enumerate(sorted(range(len(p_values)), key=p_values.__getitem__)):
        if p_values[index] > level / (len(p_values) - place):
            break
        shown[index] = True
    return tuple(shown)


def t_quantile(p: float, degrees: int) -> float:
    """The quantile of Student's t: exact for 1 and 2 degrees of freedom, else a Cornish-Fisher expansion.

    The expansion (from memory; in any handbook of functions) is checked in the tests to be within 1 %.
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
