"""What is said about a time: a distribution, never a single number, and what it rests on."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Seconds = NDArray[np.float64]

_WORDS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]


def _counted(n: int, noun: str) -> str:
    number = _WORDS[n] if n < len(_WORDS) else str(n)
    return f"{number} {noun}" if n == 1 else f"{number} {noun}s"


@dataclass(frozen=True)
class Task:
    """A step as labour: its identity (the id and the digest of what is done) and its book time."""

    step: str
    work: str
    book: timedelta


@dataclass(frozen=True)
class Basis:
    """Where a number comes from."""

    jobs: int
    """Jobs in which the step (or for a sum, the best known of its steps) was timed."""
    mechanics: int
    unfinished: int = 0
    """Of those jobs, the ones that only say "at least this long"."""
    untimed: int = 0
    """For a sum: steps in it that rest on the book time alone."""

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
    """Equally likely values, ascending."""
    basis: Basis

    def quantile(self, p: float) -> timedelta:
        """The time that is not exceeded with probability `p` (0 < p < 1)."""
        return timedelta(seconds=float(np.quantile(self.values, p)))

    def interval(self, level: float) -> tuple[timedelta, timedelta]:
        """The central range that holds with probability `level`."""
        return self.quantile(0.5 - level / 2), self.quantile(0.5 + level / 2)

    @property
    def mean(self) -> timedelta:
        """For sums: means add up, typical times do not."""
        return timedelta(seconds=float(self.values.mean()))

    @property
    def typical(self) -> timedelta:
        """The geometric mean: what one such time is usually like."""
        return timedelta(seconds=float(np.exp(np.log(np.maximum(self.values, 1e-9)).mean())))

    def at_most(self, limit: timedelta) -> float:
        """The probability of not exceeding `limit`."""
        return float(np.searchsorted(self.values, limit.total_seconds(), side="right") / len(self.values))


class Estimates(Protocol):
    """Anything that predicts labour: the fitted model, or the book alone."""

    def step(self, task: Task, mechanic: str = "") -> Prediction:
        """One step in the next job, by that mechanic ('' for one of the shop's, no matter who)."""

    def total(self, tasks: Sequence[Task], mechanic: str = "") -> Prediction:
        """The sum of the steps in one next job: a slow car or mechanic slows all of them."""
