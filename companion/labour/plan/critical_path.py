"""Activities with hands enough for all: the critical path (CPM) and three-point estimates (PERT)."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from statistics import NormalDist

from companion.errors import LabourError


@dataclass(frozen=True)
class Times:
    """When an activity can and must happen; all in the unit of the durations."""

    earliest_start: float
    earliest_finish: float
    latest_start: float
    latest_finish: float

    @property
    def slack(self) -> float:
        """How much later it may start with the whole not finishing later."""
        return self.latest_start - self.earliest_start


@dataclass(frozen=True)
class CriticalPath:
    """The shortest time in which everything can be done, and what sets it."""

    length: float
    path: tuple[str, ...]
    """A longest chain of activities, in order (the first in the given order when there are several)."""
    times: Mapping[str, Times]


def critical_path(durations: Mapping[str, float], after: Mapping[str, Iterable[str]]) -> CriticalPath:
    """The critical path of activities, each starting when all those it comes `after` are finished.

    Raises:
        LabourError: the activities wait for one another in a ring.
    """
    before = {name: tuple(after.get(name, ())) for name in durations}
    try:
        order = tuple(TopologicalSorter(before).static_order())
    except CycleError as error:
        raise LabourError(f"{' waits for '.join(error.args[1])}; take one of these out") from None
    finish: dict[str, float] = {}
    for name in order:
        finish[name] = durations[name] + max((finish[b] for b in before[name]), default=0.0)
    length = max(finish.values(), default=0.0)
    latest = dict.fromkeys(durations, length)
    for name in reversed(order):
        for earlier in before[name]:
            latest[earlier] = min(latest[earlier], latest[name] - durations[name])
    times = {
        name: Times(finish[name] - time, finish[name], latest[name] - time, latest[name])
        for name, time in durations.items()
    }
    return CriticalPath(length, _longest_chain(durations, before, finish), times)


def _longest_chain(
    durations: Mapping[str, float], before: Mapping[str, tuple[str, ...]], finish: Mapping[str, float]
) -> tuple[str, ...]:
    """Back from an activity that finishes last, each time to a predecessor that finishes last."""
    chain: list[str] = []
    candidates: Iterable[str] = durations
    while candidates:
        last = max(candidates, key=finish.__getitem__)
        chain.append(last)
        candidates = before[last]
    return tuple(reversed(chain))


Network = tuple[dict[str, float], dict[str, tuple[str, ...]]]


def from_arrows(arrows: Mapping[tuple[int, int], float]) -> Network:
    """Arrows between numbered events, as `critical_path` wants them: durations and predecessors of "1-2"."""
    durations = {f"{i}-{j}": time for (i, j), time in arrows.items()}
    after = {f"{i}-{j}": tuple(f"{a}-{b}" for a, b in arrows if b == i) for i, j in arrows}
    return durations, after


def events(path: Iterable[str]) -> tuple[int, ...]:
    """The events that a path of arrows passes: ("1-3", "3-4") passes 1, 3, 4."""
    pairs = [tuple(map(int, name.split("-"))) for name in path]
    return (pairs[0][0], *(j for _, j in pairs)) if pairs else ()


@dataclass(frozen=True)
class ThreePoint:
    """A duration guessed at three points: if all goes well, most likely, if much goes wrong."""

    best: float
    likely: float
    worst: float

    @property
    def mean(self) -> float:
        """(a + 4 m + b) / 6."""
        return (self.best + 4 * self.likely + self.worst) / 6

    @property
    def variance(self) -> float:
        """((b - a) / 6)²."""
        return ((self.worst - self.best) / 6) ** 2


@dataclass(frozen=True)
class Pert:
    """The length of the critical path as a normal distribution.

    Optimistic: only the path that is longest on average counts, though others may turn out longer.
    """

    mean: float
    variance: float
    path: tuple[str, ...]

    def at_most(self, limit: float) -> float:
        """The probability of finishing by `limit`."""
        if not self.variance:
            return float(limit >= self.mean)
        return NormalDist(self.mean, math.sqrt(self.variance)).cdf(limit)


def pert(guesses: Mapping[str, ThreePoint], after: Mapping[str, Iterable[str]]) -> Pert:
    """PERT: the critical path of the means, with the variances along it added up."""
    found = critical_path({name: guess.mean for name, guess in guesses.items()}, after)
    return Pert(found.length, sum(guesses[name].variance for name in found.path), found.path)
