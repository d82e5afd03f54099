"""What is said about a time to come: a distribution, never a single number, and what it rests on."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

Seconds = NDArray[np.float64]

_WORDS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]


def _counted(n: int, noun: str) -> str:
    number = _WORDS[n] if n < len(_WORDS) else str(n)
    return f"{number} {noun}" if n == 1 else f"{number} {noun}s"


@dataclass(frozen=True)
class Basis:
    """What a number rests on."""

    jobs: int
    """In how many jobs the step was timed; for a sum, the best known of its steps."""
    mechanics: int
    unfinished: int = 0
    """Of those jobs, how many only say "at least this long"."""
    untimed: int = 0
    """How many steps of a sum rest on the book time alone."""

    def __str__(self) -> str:
        """Such as "seven jobs, three mechanics", or "book time only"."""
        if not self.jobs:
            return "book time only"
        words = [_counted(self.jobs, "job"), _counted(self.mechanics, "mechanic")]
        if self.unfinished:
            words.append(f"{_counted(self.unfinished, 'time')} unfinished")
        if self.untimed:
            words.append(f"{_counted(self.untimed, 'step')} from the book")
        return ", ".join(words)


@dataclass(frozen=True)
class Prediction:
    """How long something will take."""

    values: Seconds
    """Equally likely values, the smallest first."""
    basis: Basis

    def quantile(self, p: float) -> timedelta:
        """The time that is enough with probability `p` (0 < p < 1)."""
        return timedelta(seconds=float(np.quantile(self.values, p)))

    def interval(self, level: float) -> tuple[timedelta, timedelta]:
        """The middle range that holds with probability `level`."""
        return self.quantile(0.5 - level / 2), self.quantile(0.5 + level / 2)

    @property
    def mean(self) -> timedelta:
        """The mean. Means of steps add up to the mean of the job; typical times do not."""
        return timedelta(seconds=float(self.values.mean()))

    @property
    def typical(self) -> timedelta:
        """The geometric mean: what one such time is usually like."""
        return timedelta(seconds=float(np.exp(np.log(np.maximum(self.values, 1e-9)).mean())))

    def at_most(self, limit: timedelta) -> float:
        """The probability that `limit` is enough."""
        return float(np.searchsorted(self.values, limit.total_seconds(), side="right") / len(self.values))
