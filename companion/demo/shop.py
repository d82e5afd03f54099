"""An invented shop whose true step times are known. Nothing here is a real person's.

A shop is drawn from a seed: how far the book is off, its steps, its mechanics, how much its cars differ. Its
book adds up, as books do: a typical job takes the sum of the book times, but for how far the book is off as a
whole.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LOWEST = np.array([0.20, 0.15, 0.05, 0.05])
HIGHEST = np.array([0.60, 0.55, 0.25, 0.30])
"""The spreads of a shop are drawn between these. The order is that of `mixed_model.SPREADS`."""
BOOK_OFF = 0.25
RUSTY = float(np.log(1.8))
"""On a rusty car everything takes 1.8 times as long."""


@dataclass
class Shop:
    """One invented shop and its truth."""

    seed: int
    book_s: Array
    """(steps,) Book times in seconds."""
    mechanics: int = 3
    spreads: Array | None = None
    """Drawn when they are not given. The order is that of `mixed_model.SPREADS`."""

    def __post_init__(self) -> None:
        rng = self.rng = np.random.default_rng(self.seed)
        drawn = rng.uniform(LOWEST, HIGHEST)
        sigma, step, mechanic, job = drawn if self.spreads is None else self.spreads
        self.sigma, self.job = float(sigma), float(job)
        self.base = float(rng.normal(0, BOOK_OFF)) - (sigma**2 + step**2) / 2
        self.step: Array = rng.normal(0, step, len(self.book_s))
        self.person: Array = rng.normal(0, mechanic, self.mechanics)

    @property
    def usual_s(self) -> Array:
        """(steps,) What each step usually takes here, in seconds."""
        return np.asarray(self.book_s * np.exp(self.base + self.step), float)

    def next_job(self, rusty: bool = False) -> tuple[int, Array]:
        """The next job: which mechanic does it, and the seconds that each step really takes, (steps,)."""
        mechanic = int(self.rng.integers(0, self.mechanics, 1)[0])
        car = self.rng.normal(0, self.job) + RUSTY * rusty
        rest = self.rng.normal(0, self.sigma, len(self.book_s))
        return mechanic, self.usual_s * np.exp(self.person[mechanic] + car + rest)
