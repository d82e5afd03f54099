"""Invented shops: jobs whose true times are known, to try the estimates on. Nothing here is a real person's.

A shop is drawn from a seed: how far the book is off, its steps, its mechanics, how much its cars differ.
`Trouble` breaks the rules that the model assumes.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from companion.labour.mixed import Observations

Array = NDArray[np.float64]

LOWEST = np.array([0.20, 0.15, 0.05, 0.05])
HIGHEST = np.array([0.60, 0.55, 0.25, 0.30])
"""Between these the spreads of a shop are drawn, in the order of `mixed.SPREADS`."""
BOOK_OFF = 0.25


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
    """Numbers, from 0, of jobs on a rusty car: everything takes 1.8 times as long."""


@dataclass(frozen=True)
class Jobs:
    """Jobs of one shop. Sizes: n jobs, s steps."""

    mechanic: NDArray[np.int64]
    """(n,)"""
    true_s: Array
    """(n, s) active time, as it really was, in seconds."""
    logged_s: Array
    """(n, s) as an attentive reader of the log sees it."""

    def observations(self, book_s: Array, mechanics: int) -> Observations:
        """As the model is given them."""
        log_ratio = np.log(self.logged_s / book_s)
        return Observations(log_ratio, np.zeros(log_ratio.shape, bool), self.mechanic, mechanics)

    def part(self, start: int, stop: int) -> "Jobs":
        """Some of the jobs, in order."""
        return Jobs(self.mechanic[start:stop], self.true_s[start:stop], self.logged_s[start:stop])


@dataclass
class Shop:
    """One invented shop and its truth."""

    seed: int
    book_s: Array
    """(s,) seconds."""
    mechanics: int = 3
    trouble: Trouble = field(default_factory=Trouble)
    spreads: Array | None = None
    """Drawn when not given, in the order of `mixed.SPREADS`."""

    def __post_init__(self) -> None:
        rng = self.rng = np.random.default_rng(self.seed)
        drawn = rng.uniform(LOWEST, HIGHEST)
        if self.spreads is None:
            self.spreads = drawn
        sigma, step, mechanic, job = self.spreads
        self.sigma, self.job = float(sigma), float(job)
        self.base = float(rng.normal(0, BOOK_OFF))
        self.step: Array = rng.normal(0, step, len(self.book_s))
        self.person: Array = rng.normal(0, mechanic, self.mechanics)
        self.made = 0
        """Jobs worked so far."""

    @classmethod
    def of(cls, seed: int, steps: int = 20, trouble: Trouble | None = None, mechanics: int = 3) -> "Shop":
        """A shop with book times between one and twenty minutes."""
        book = np.exp(np.random.default_rng(seed + 7).uniform(np.log(60), np.log(1200), steps))
        return cls(seed, np.round(book / 15) * 15, mechanics, trouble or Trouble())

    def work(self, jobs: int) -> Jobs:
        """The next jobs, each by one of the mechanics."""
        rng, size = self.rng, (jobs, len(self.book_s))
        mechanic = rng.integers(0, self.mechanics, jobs)
        car = rng.normal(0, self.job, jobs)
        numbers = self.made + np.arange(jobs)
        self.made += jobs
        car[np.isin(numbers, self.trouble.rusty)] += np.log(1.8)
        rest = rng.normal(0, self.sigma, size)
        if self.trouble.heavy_tails:
            rest = self.sigma * 0.6745 / 0.7649 * np.clip(rng.standard_t(3, size), -5, 5)
        logs = self.base + self.step + self.person[mechanic][:, None] + car[:, None] + rest
        true = self.book_s * np.exp(logs)
        return Jobs(mechanic, true, self._logged(true, mechanic))

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
