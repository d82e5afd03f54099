"""Invented shops to try the estimates on: many jobs at once, and trouble that the model does not know of."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from companion.demo import shop as plain
from companion.demo.shop import RUSTY
from companion.labour.model.observations import Observations, repetitions

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Trouble:
    """What real logs have that the model does not know of."""

    heavy_tails: bool = False
    """What is left of a step time after all effects has a t distribution with three degrees of freedom
    (scaled to the same quartiles, and cut off at five)."""
    unlogged: float = 0.0
    """The chance that a step has an interruption nobody logged, of 10 to 40 minutes."""
    late: bool = False
    """The first mechanic says "done" late, each time by up to half of the next step."""
    rusty: tuple[int, ...] = ()
    """The numbers, from 0, of jobs on a rusty car."""
    rusty_share: float = 0.0
    """The chance that any other job is on a rusty car."""
    uneven: float = 0.0
    """How much steps differ in how much they vary: the standard deviation of the log of a step's sigma."""


@dataclass(frozen=True)
class Jobs:
    """Jobs of one shop. Sizes: n jobs, s steps."""

    mechanic: NDArray[np.int64]
    """(n,)"""
    true_s: Array
    """(n, s) The active time as it really was, in seconds."""
    logged_s: Array
    """(n, s) The active time as an attentive reader of the log sees it."""
    repetition: NDArray[np.int64]
    """(n,) The repetition: 1 for the first job of its mechanic."""

    def observations(self, book_s: Array, mechanics: int) -> Observations:
        """The jobs as the model is given them."""
        log_ratio = np.log(self.logged_s / book_s)
        return Observations(
            log_ratio, np.zeros(log_ratio.shape, bool), self.mechanic, mechanics, self.repetition, book_s
        )

    def part(self, start: int, stop: int) -> "Jobs":
        """Some of the jobs, in order."""
        some = slice(start, stop)
        return Jobs(self.mechanic[some], self.true_s[some], self.logged_s[some], self.repetition[some])


@dataclass
class Shop(plain.Shop):
    """One invented shop and its truth."""

    trouble: Trouble = field(default_factory=Trouble)
    learning: float = 1.0
    """The rate by which a mechanic's time falls at each doubling of the jobs done; 1 is no learning."""

    def __post_init__(self) -> None:
        super().__post_init__()
        self.made = 0
        """How many jobs were worked so far."""
        self.worked: NDArray[np.int64] = np.zeros(self.mechanics, np.int64)
        """How many of them by each mechanic."""
        self.uneven: Array = np.ones(len(self.book_s))
        if self.trouble.uneven:
            rng = np.random.default_rng(self.seed + 11)
            self.uneven = np.exp(rng.normal(0, self.trouble.uneven, len(self.book_s)))

    @classmethod
    def of(
        cls,
        seed: int,
        steps: int = 20,
        trouble: Trouble | None = None,
        mechanics: int = 3,
        learning: float = 1.0,
    ) -> "Shop":
        """A shop with book times between one and twenty minutes."""
        book = np.exp(np.random.default_rng(seed + 7).uniform(np.log(60), np.log(1200), steps))
        book_s = np.round(book / 15) * 15
        return cls(seed, book_s, mechanics, trouble=trouble or Trouble(), learning=learning)

    def work(self, jobs: int) -> Jobs:
        """The next jobs, each by one of the mechanics."""
        rng, size = self.rng, (jobs, len(self.book_s))
        mechanic = rng.integers(0, self.mechanics, jobs)
        car = rng.normal(0, self.job, jobs)
        numbers = self.made + np.arange(jobs)
        self.made += jobs
        rusty = np.isin(numbers, self.trouble.rusty)
        if self.trouble.rusty_share:
            rusty |= rng.random(jobs) < self.trouble.rusty_share
        car[rusty] += RUSTY
        rest = rng.normal(0, self.sigma, size)
        if self.trouble.heavy_tails:
            rest = self.sigma * 0.6745 / 0.7649 * np.clip(rng.standard_t(3, size), -5, 5)
        repetition = repetitions(mechanic, numbers) + self.worked[mechanic]
        self.worked += np.bincount(mechanic, minlength=self.mechanics)
        each = self.person[mechanic] + car + np.log(self.learning) * np.log2(repetition)
        true = self.usual_s * np.exp(each[:, None] + self.uneven * rest)
        return Jobs(mechanic, true, self._logged(true, mechanic), repetition)

    def _logged(self, true: Array, mechanic: NDArray[np.int64]) -> Array:
        logged = true.copy()
        if self.trouble.unlogged:
            hit = self.rng.random(true.shape) < self.trouble.unlogged
            logged += hit * self.rng.uniform(600, 2400, true.shape)
        if self.trouble.late:
            taken = self.rng.uniform(0, 0.5, true.shape) * true * (mechanic == 0)[:, None]
            logged[:, :-1] += taken[:, 1:]
            logged[:, 1:] -= taken[:, 1:]
        return logged
