"""What is believed about the steps of one procedure, small enough to be kept as JSON and asked at the car.

It is a mixture over equally likely sets of spreads. Given one set, the log of a step's time over its book
time, in the next job by mechanic m, is normal: `mean[s] + person[m]`, with a variance of its own (`own[s]`,
not yet known about the step, plus `sigma²` times how much it varies, `vary[s]`) and one that all steps of the
job share (`common[m]`, not yet known about the shop and the mechanic, plus `job²`, the state of the car).
In the sets with learning, `person[m]` counts the next repetition. Where odd times were seen (`odd_times.py`),
a time to come is one with the same chance.
"""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.errors import LabourError
from companion.labour.model.learnt import Learnt
from companion.labour.model.odd_times import Odd
from companion.labour.model.prediction import Basis, Prediction, Task
from companion.labour.table.kept import FIT_SCHEMA

Array = NDArray[np.float64]

OVER_SPREADS = ("sigma", "job", "new_step", "base", "mean", "own", "person", "common")
"""The arrays of a fit whose first size is n."""


def normal_points(count: int) -> Array:
    """Equally likely values that stand for a standard normal, stretched to its variance so that means of
    log-normals come out right."""
    middles = np.array([NormalDist().inv_cdf((n + 0.5) / count) for n in range(count)])
    return middles / math.sqrt(float((middles**2).mean()))


_Z = normal_points(48)
ANYONE = ("anyone of the shop", "somebody new to it")
"""Who may do the next job, beyond the mechanics that were seen."""
DRAWS_EACH = 128
"""Possible jobs drawn for each set of spreads."""
_Z_EACH = normal_points(DRAWS_EACH)


@dataclass(frozen=True)
class StepSeen:
    """A step of the procedure and how often it was timed."""

    step: str
    work: str
    jobs: int = 0
    mechanics: int = 0
    unfinished: int = 0


@dataclass(frozen=True)
class Fitted:
    """Sizes: n sets of spreads, s steps, m mechanics. Variances and means are of log times."""

    title: str
    jobs: int
    steps: tuple[StepSeen, ...]
    mechanics: tuple[str, ...]
    sigma: Array
    """(n,)"""
    job: Array
    """(n,) standard deviation of the job effect."""
    new_step: Array
    """(n,) standard deviation of a step effect."""
    base: Array
    """(n,) mean of a step not met before."""
    mean: Array
    """(n, s)"""
    own: Array
    """(n, s)"""
    person: Array
    """(n, m + 2); the last two are `ANYONE`."""
    common: Array
    """(n, m + 2)"""
    vary: Array | None = None
    """(s,) how much a step varies: its variance over `sigma²`; None for all alike."""
    learnt: Learnt | None = None
    """What the data show of learning."""
    odd: Odd | None = None
    """Times far off the rest, where there are more than chance makes."""

    def step(self, task: Task, mechanic: str = "") -> Prediction:
        """One step in the next job, by that mechanic ('' for anyone of the shop)."""
        mean, spread = self.logs([task], mechanic)
        total = np.sqrt(spread[:, 0] ** 2 + self.shared(mechanic)[1])
        logs = mean[:, :1] + total[:, None] * _Z
        seconds = task.book.total_seconds() * np.exp(logs)
        seconds = self.with_odd(seconds, np.random.default_rng(0))
        return Prediction(np.sort(seconds.ravel()), self.basis([task]))

    def total(self, tasks: Sequence[Task], mechanic: str = "") -> Prediction:
        """The sum of the steps in one next job."""
        return Prediction(np.sort(self.draw(tasks, mechanic).sum(1)), self.basis(tasks))

    def draw(self, tasks: Sequence[Task], mechanic: str = "", seed: int = 1) -> Array:
        """Equally likely next jobs, (draws, tasks), in seconds; the same seed draws the same cars."""
        mean, spread = self.logs(tasks, mechanic)
        rng = np.random.default_rng(seed)
        points = len(self.sigma)
        cars = _Z_EACH * np.sqrt(self.shared(mechanic)[1])[:, None]
        own = rng.standard_normal((points, DRAWS_EACH // 2, len(tasks)), dtype=np.float32)
        both = np.concatenate([own, -own], axis=1)
        logs = (mean[:, None, :] + cars[:, :, None] + spread[:, None, :] * both).reshape(-1, len(tasks))
        return self.with_odd(book_seconds(tasks) * np.exp(logs), rng)

    def with_odd(self, seconds: Array, rng: np.random.Generator) -> Array:
        """These times to come, as often odd ones as was seen."""
        return self.odd.befall(seconds, rng) if self.odd else seconds

    def logs(self, tasks: Sequence[Task], mechanic: str = "") -> tuple[Array, Array]:
        """Mean of the log ratio, and standard deviation of its part that other steps do not share; both
        (n, tasks)."""
        where = {(s.step, s.work): i for i, s in enumerate(self.steps)}
        columns = [where.get((t.step, t.work), -1) for t in tasks]
        new = np.array([c < 0 for c in columns], bool)
        mean = np.repeat(self.base[:, None], len(tasks), 1)
        own = np.repeat(self.new_step[:, None] ** 2, len(tasks), 1)
        known = [c for c in columns if c >= 0]
        mean[:, ~new], own[:, ~new] = self.mean[:, known], self.own[:, known]
        vary = np.ones(len(tasks))
        if self.vary is not None:
            vary[~new] = self.vary[known]
        rest = own + self.sigma[:, None] ** 2 * vary
        return mean + self.shared(mechanic)[0][:, None], np.sqrt(rest)

    def shared(self, mechanic: str = "") -> tuple[Array, Array]:
        """Mean and variance of what all steps of a job by this mechanic share; both (n,)."""
        others = -1 if mechanic else -2
        person = self.mechanics.index(mechanic) if mechanic in self.mechanics else others
        return self.person[:, person], self.common[:, person] + self.job**2

    def basis(self, tasks: Sequence[Task]) -> Basis:
        """What a number about these tasks rests on."""
        seen = {(s.step, s.work): s for s in self.steps}
        known = [seen[t.step, t.work] for t in tasks if (t.step, t.work) in seen]
        known = [s for s in known if s.jobs]
        if not known:
            return Basis(0, 0)
        best = max(known, key=lambda s: s.jobs)
        untimed = len(tasks) - len(known)
        return Basis(best.jobs, best.mechanics, max(s.unfinished for s in known), untimed)

    def to_data(self) -> dict[str, Any]:
        """Plain data for JSON; five digits of each number are kept."""
        data: dict[str, Any] = {"schema": FIT_SCHEMA, "title": self.title, "jobs": self.jobs}
        data["steps"] = [[s.step, s.work, s.jobs, s.mechanics, s.unfinished] for s in self.steps]
        data["mechanics"] = list(self.mechanics)
        data["learnt"] = self.learnt and [
            self.learnt.rate,
            self.learnt.low,
            self.learnt.high,
            self.learnt.jobs,
        ]
        data["vary"] = None if self.vary is None else _digits(self.vary)
        data["odd"] = self.odd and [self.odd.times, self.odd.of, [_digits(c) for c in self.odd.changes]]
        for name in OVER_SPREADS:
            array = getattr(self, name)
            data[name] = [_digits(row) for row in array.reshape(len(self.sigma), -1)]
        return data

    @classmethod
    def from_data(cls, data: dict[str, Any]) -> "Fitted":
        """The reverse of `to_data` (KeyError, TypeError or ValueError when it is something else)."""
        if data["schema"] != FIT_SCHEMA:
            raise ValueError(f"schema {data['schema']!r} is not {FIT_SCHEMA}")
        arrays = {name: np.array(data[name], float) for name in OVER_SPREADS}
        for name in ("sigma", "job", "new_step", "base"):
            arrays[name] = arrays[name][:, 0]
        points, steps = len(arrays["sigma"]), len(data["steps"])
        for name in ("mean", "own"):
            arrays[name] = arrays[name].reshape(points, steps)
        return cls(
            data["title"],
            data["jobs"],
            tuple(StepSeen(*s) for s in data["steps"]),
            tuple(data["mechanics"]),
            **arrays,
            vary=None if data["vary"] is None else np.array(data["vary"], float).reshape(steps),
            learnt=Learnt(*data["learnt"]) if data["learnt"] else None,
            odd=Odd(data["odd"][0], data["odd"][1], np.array(data["odd"][2], float)) if data["odd"] else None,
        )

    def save(self, path: Path) -> None:
        """As JSON. LabourError when it cannot be written."""
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            partial = path.with_name(path.name + ".part")
            partial.write_text(json.dumps(self.to_data(), separators=(",", ":")), encoding="utf-8")
            partial.replace(path)
        except OSError as error:
            raise LabourError(
                f"{path}: cannot be written ({error.strerror}); choose another folder"
            ) from error

    @classmethod
    def load(cls, path: Path) -> "Fitted":
        """LabourError when the file is missing or is not a fit."""
        try:
            return cls.from_data(json.loads(path.read_text(encoding="utf-8")))
        except OSError as error:
            raise LabourError(
                f"{path}: cannot be read ({error.strerror}); run 'companion times' first"
            ) from error
        except (KeyError, TypeError, ValueError, IndexError) as error:
            raise LabourError(f"{path}: is not a fit of step times; delete it, it is made again") from error


def _digits(row: Array) -> list[float]:
    return [float(f"{x:.5g}") for x in row]


def book_seconds(tasks: Sequence[Task]) -> Array:
    """(tasks,)"""
    return np.array([t.book.total_seconds() for t in tasks])


def log_of(seconds: float, task: Task) -> float:
    """Log of a time over the task's book time; a time under a tenth of a second counts as that."""
    return math.log(max(seconds, 0.1) / task.book.total_seconds())
