"""The arithmetic of a time study: normal time, standard time, and how many cycles to observe.

The formulas are those of any textbook of work measurement.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from statistics import NormalDist, fmean, stdev

from companion.errors import LabourError


class AllowanceBase(StrEnum):
    """What an allowance for rest, delays and personal needs is a fraction of."""

    JOB_TIME = "job time"
    """Added to the work: 15 % of an hour of work is 9 minutes more."""
    WORKDAY = "the workday"
    """Taken from the day: with 15 % only 85 % of it is work, so an hour of work fills 70.6 minutes."""


@dataclass(frozen=True)
class Allowance:
    """A fraction, and what it is a fraction of; the same figure means different times on either."""

    fraction: float
    base: AllowanceBase = AllowanceBase.JOB_TIME

    def __post_init__(self) -> None:
        """Raises:
        LabourError: the fraction is negative, or would leave no time for work.
        """
        if not 0 <= self.fraction < 1:
            raise LabourError(f"allowance {self.fraction:g} is out of range; give a fraction such as 0.15")

    def standard(self, normal: timedelta) -> timedelta:
        """The standard time: NT x (1 + A) on job time, NT / (1 - A) on the workday."""
        if self.base is AllowanceBase.JOB_TIME:
            return normal * (1 + self.fraction)
        return normal / (1 - self.fraction)

    def __str__(self) -> str:
        """Such as "15 % of job time"; every use of an allowance prints this."""
        return f"{100 * self.fraction:g} % of {self.base}"


def normal_time(observed: Sequence[timedelta], rating: float = 1.0) -> timedelta:
    """The mean observed time at the pace of a normal worker (`rating` 1.1: seen to work 10 % faster).

    Raises:
        LabourError: nothing was observed, or the rating is not positive.
    """
    if not observed:
        raise LabourError("no times were observed; log at least one job first")
    if not rating > 0:
        raise LabourError(f"rating {rating:g} is out of range; 1 is the pace of a normal worker")
    return sum(observed, timedelta()) / len(observed) * rating


def cycles_needed(times: Sequence[float], within: float = 0.05) -> int:
    """How many cycles to time so that their mean is right to ±`within` at 95.45 % (two standard errors).

    n = ((2 / within) sqrt(n' Σx² - (Σx)²) / Σx)², where n' is the number already timed: the 2 / within is the
    familiar 40 for ±5 % and 20 for ±10 %. The unit of `times` does not matter.

    Raises:
        LabourError: no times, or one that is not positive.
    """
    _usable(times, at_least=1)
    total = math.fsum(times)
    spread = max(0.0, len(times) * math.fsum(x * x for x in times) - total * total)
    return _round_up((2 / within) ** 2 * spread / total**2)


def observations_needed(times: Sequence[float], within: float = 0.05, confidence: float = 0.95) -> int:
    """The same question with the sample standard deviation and the normal quantile of any confidence.

    n = (z s / (within x̄))².

    Raises:
        LabourError: fewer than two times, or one that is not positive.
    """
    _usable(times, at_least=2)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    return _round_up((z * stdev(times) / (within * fmean(times))) ** 2)


def _round_up(number: float) -> int:
    return max(1, math.ceil(number - 1e-9))


def _usable(times: Sequence[float], at_least: int) -> None:
    if len(times) < at_least:
        raise LabourError(f"{len(times)} times are too few; at least {at_least} are needed")
    if not all(x > 0 and math.isfinite(x) for x in times):
        raise LabourError("a time is not positive; remove it from the study")
