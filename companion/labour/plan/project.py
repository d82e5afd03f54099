"""What is to be planned: activities, and the lags between them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from graphlib import CycleError, TopologicalSorter

from companion.errors import LabourError
from companion.labour.plan.calendar import Split
from companion.procedure.units import short

NOTHING = timedelta()


@dataclass(frozen=True)
class Activity:
    """A piece of work, or a wait."""

    id: str
    duration: timedelta
    occupies: bool = True
    """Whether it needs a mechanic, and so working hours. A wait needs none, and runs day and night."""
    split: Split = Split.BREAKS
    earliest: timedelta = NOTHING
    """It does not start before this, from the start of the plan."""
    latest: timedelta | None = None
    """It does not start after this."""
    name: str = ""
    """Its name for people. By default it is the id in words."""

    def __str__(self) -> str:
        return self.name or self.id.replace("-", " ")


@dataclass(frozen=True)
class Lag:
    """The time from the end of one activity to the start of another, by the calendar."""

    before: str
    after: str
    least: timedelta = NOTHING
    most: timedelta | None = None
    because: str = ""
    """What is waited for, such as "sealant cures"; or what must not happen, such as "sealant skins over"."""


@dataclass(frozen=True)
class Project:
    """Activities and the lags between them. A lag of nothing only says which comes first."""

    activities: tuple[Activity, ...]
    lags: tuple[Lag, ...] = ()
    title: str = ""
    index: Mapping[str, int] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Raises:
        LabourError: activities wait for one another, a longest lag is shorter than what must come between,
            or an activity with a longest lag after it may be split.
        ValueError: an id is unknown or used twice.
        """
        index = {activity.id: number for number, activity in enumerate(self.activities)}
        if len(index) < len(self.activities):
            raise ValueError("two activities have the same id")
        object.__setattr__(self, "index", index)
        graph: dict[str, set[str]] = {activity.id: set() for activity in self.activities}
        for lag in self.lags:
            if lag.before not in index or lag.after not in index:
                raise ValueError(f"lag {lag.before} -> {lag.after}: no such activity")
            graph[lag.after].add(lag.before)
            first = self[lag.before]
            if lag.most is not None and first.occupies and first.split is not Split.NEVER:
                raise ValueError(f"{first.id} has a longest lag after it, so it cannot be split")
        try:
            order = tuple(TopologicalSorter(graph).static_order())
        except CycleError as error:
            ring = " waits for ".join(error.args[1])
            raise LabourError(f"{ring}: nothing can start; correct the 'after' of these steps") from None
        self._check_longest_lags(order)

    def _check_longest_lags(self, order: tuple[str, ...]) -> None:
        """Check that each longest lag could be kept if it were the only one, with hands enough."""
        incoming: dict[str, list[Lag]] = {id_: [] for id_ in order}
        for lag in self.lags:
            incoming[lag.after].append(lag)
        for limit in (lag for lag in self.lags if lag.most is not None):
            since: dict[str, timedelta] = {limit.before: NOTHING}
            for id_ in order:
                reached = [since[lag.before] + lag.least for lag in incoming[id_] if lag.before in since]
                if reached and id_ != limit.before:
                    since[id_] = max(reached) + self[id_].duration
            gap = since[limit.after] - self[limit.after].duration
            if limit.most is not None and gap > limit.most:
                raise LabourError(
                    f"{self[limit.after]} must start within {short(limit.most)} of {self[limit.before]} "
                    f"({limit.because or 'longest lag'}), but {short(gap)} of other work and waits must come "
                    "between; correct the order of the steps"
                )

    def __getitem__(self, id_: str) -> Activity:
        """The activity of that id. KeyError if there is none."""
        return self.activities[self.index[id_]]

    @property
    def work(self) -> timedelta:
        """The working time of all activities together."""
        return sum((a.duration for a in self.activities if a.occupies), NOTHING)
