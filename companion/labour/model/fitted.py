"""What is believed about the steps of one procedure, small enough to be asked at the car.

It is a mixture over equally likely sets of spreads. Given one set, a step's log time over its book time is
normal in the next job of mechanic m. Its mean is `mean[s] + person[m]`. Its variance has two parts:

- the step's own: `own[s]` for what is not yet known of the step, plus `sigma²` times how much it varies,
  `vary[s]`;
- one that all steps of the job share: `common[m]` for what is not yet known of the shop and the mechanic,
  plus `job²` for the state of the car.

In the sets with learning, `person[m]` counts the next repetition. Where odd times were seen (`odd_times.py`),
a time to come is an odd one with the same chance.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.learning import Learnt
from companion.labour.model.normal import normal_points
from companion.labour.model.observations import StepSeen
from companion.labour.model.odd_times import Odd
from companion.labour.model.prediction import Basis, Prediction
from companion.labour.table.task import Task

Array = NDArray[np.float64]

OVER_SPREADS = ("sigma", "job", "new_step", "base", "mean", "own", "person", "common")
"""The arrays of a fit that have a row for each set of spreads."""

_Z = normal_points(48)
ANYONE = ("anyone of the shop", "somebody new to it")
"""Who may do the next job, besides the mechanics that were seen."""
DRAWS_EACH = 128
"""How many possible jobs are drawn for each set of spreads."""
_Z_EACH = normal_points(DRAWS_EACH)


def same_name(one: str, other: str) -> bool:
    """Whether two names are typed alike but for capitals and spaces."""
    return one.casefold().split() == other.casefold().split()


@dataclass(frozen=True)
class Fitted:
    """The belief. Sizes: n sets of spreads, s steps, m mechanics. Means and variances are of log times."""

    title: str
    jobs: int
    steps: tuple[StepSeen, ...]
    mechanics: tuple[str, ...]
    sigma: Array
    """(n,)"""
    job: Array
    """(n,) The standard deviation of the job effect."""
    new_step: Array
    """(n,) The standard deviation of a step effect."""
    base: Array
    """(n,) The mean of a step that was not met before."""
    mean: Array
    """(n, s)"""
    own: Array
    """(n, s)"""
    person: Array
    """(n, m + 2) The last two are `ANYONE`: one of those who work there, and somebody else."""
    common: Array
    """(n, m + 2)"""
    vary: Array | None = None
    """(s,) How much each step varies: its variance over `sigma²`. None: all are alike."""
    learnt: Learnt | None = None
    """What the data show of learning."""
    odd: Odd | None = None
    """Times far off the rest, where chance does not make so many."""

    def step(self, task: Task, mechanic: str = "") -> Prediction:
        """One step of the next job, by that mechanic ('' for anyone of the shop)."""
        mean, spread = self.logs([task], mechanic)
        total = np.sqrt(spread[:, 0] ** 2 + self.shared(mechanic)[1])
        logs = mean[:, :1] + total[:, None] * _Z
        seconds = self.books([task]) * np.exp(logs)
        seconds = self.with_odd(seconds, np.random.default_rng(0))
        return Prediction(np.sort(seconds.ravel()), self.basis([task]))

    def total(self, tasks: Sequence[Task], mechanic: str = "") -> Prediction:
        """The steps of one next job together. A slow car or mechanic slows all of them."""
        return Prediction(np.sort(self.draw(tasks, mechanic).sum(1)), self.basis(tasks))

    def draw(self, tasks: Sequence[Task], mechanic: str = "", seed: int = 1) -> Array:
        """Equally likely next jobs, (draws, tasks), in seconds. The same seed draws the same cars."""
        mean, spread = self.logs(tasks, mechanic)
        rng = np.random.default_rng(seed)
        points = len(self.sigma)
        cars = _Z_EACH * np.sqrt(self.shared(mechanic)[1])[:, None]
        own = rng.standard_normal((points, DRAWS_EACH // 2, len(tasks)), dtype=np.float32)
        both = np.concatenate([own, -own], axis=1)
        logs = (mean[:, None, :] + cars[:, :, None] + spread[:, None, :] * both).reshape(-1, len(tasks))
        return self.with_odd(self.books(tasks) * np.exp(logs), rng)

    def with_odd(self, seconds: Array, rng: np.random.Generator) -> Array:
        """These times to come, odd as often as was seen."""
        return self.odd.befall(seconds, rng) if self.odd else seconds

    def logs(self, tasks: Sequence[Task], mechanic: str = "") -> tuple[Array, Array]:
        """The mean of the log ratio, and the standard deviation of its part that is the step's own. Both are
        (n, tasks)."""
        columns = self._columns(tasks)
        new = np.array([c < 0 for c in columns], bool)
        mean = np.repeat(self.base[:, None], len(tasks), 1)
        own = np.repeat(self.new_step[:, None] ** 2, len(tasks), 1)
        known = [c for c in columns if c >= 0]
        mean[:, ~new], own[:, ~new] = self.mean[:, known], self.own[:, known]
        rest = own + self.sigma[:, None] ** 2 * self.varies(tasks)
        return mean + self.shared(mechanic)[0][:, None], np.sqrt(rest)

    def varies(self, tasks: Sequence[Task]) -> Array:
        """(tasks,) How much each varies: its variance over `sigma²`."""
        if self.vary is None:
            return np.ones(len(tasks))
        return np.array([1.0 if n < 0 else self.vary[n] for n in self._columns(tasks)])

    def _columns(self, tasks: Sequence[Task]) -> list[int]:
        """Which of the steps each task is; -1 where it was not met before."""
        where = {(s.step, s.work): i for i, s in enumerate(self.steps)}
        return [where.get((t.step, t.work), -1) for t in tasks]

    def shared(self, mechanic: str = "") -> tuple[Array, Array]:
        """The mean and variance of what all steps of a job by this mechanic share. Both are (n,)."""
        others = -1 if mechanic else -2
        place = self.place_of(mechanic)
        person = others if place is None else place
        return self.person[:, person], self.common[:, person] + self.job**2

    def place_of(self, mechanic: str) -> int | None:
        """Where a mechanic stands among those who were seen, whatever the capitals; None for others."""
        return next((n for n, name in enumerate(self.mechanics) if same_name(name, mechanic)), None)

    def books(self, tasks: Sequence[Task]) -> Array:
        """(tasks,) The book times that their times are compared with, in seconds: where a step was timed, the
        one that it was fitted with."""
        fitted = [self.steps[n] if n >= 0 else None for n in self._columns(tasks)]
        own = [s.book_s if s and s.jobs else None for s in fitted]
        return np.array([b or t.book.total_seconds() for b, t in zip(own, tasks, strict=True)])

    def basis(self, tasks: Sequence[Task]) -> Basis:
        """What a number about these tasks rests on."""
        known = [self.steps[n] for n in self._columns(tasks) if n >= 0 and self.steps[n].jobs]
        if not known:
            return Basis(0, 0)
        best = max(known, key=lambda s: s.jobs)
        untimed = len(tasks) - len(known)
        return Basis(best.jobs, best.mechanics, max(s.unfinished for s in known), untimed)
