"""The critical path (CPM): what sets the length of a job when there are hands enough, day and night."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from graphlib import TopologicalSorter

from companion.labour.plan.project import NOTHING, Project
from companion.procedure.units import short


@dataclass(frozen=True)
class CriticalPath:
    """The shortest time in which everything can be done, and what sets it."""

    length: timedelta
    path: tuple[str, ...]
    """The ids of a longest chain of activities, in order."""
    slack: Mapping[str, timedelta]
    """How much later each activity may start without making the whole longer, by id."""

    def __str__(self) -> str:
        """In one sentence."""
        tight = sum(not slack for slack in self.slack.values())
        return (
            f"With hands enough, day and night, it would still take {short(self.length)}: {tight} of "
            f"{len(self.slack)} steps and waits follow on one another without slack."
        )


def critical_path(project: Project) -> CriticalPath:
    """The critical path of a project. Longest lags are not looked at: they can only make it longer."""
    before: dict[str, list[tuple[str, timedelta]]] = {a.id: [] for a in project.activities}
    for lag in project.lags:
        before[lag.after].append((lag.before, lag.least))
    duration = {a.id: a.duration for a in project.activities}
    graph = {id_: [b for b, _ in befores] for id_, befores in before.items()}
    order = list(TopologicalSorter(graph).static_order())
    finish: dict[str, timedelta] = {}
    for id_ in order:
        ready = max((finish[b] + least for b, least in before[id_]), default=NOTHING)
        finish[id_] = duration[id_] + max(ready, project[id_].earliest)
    length = max(finish.values(), default=NOTHING)
    latest = dict.fromkeys(order, length)
    for id_ in reversed(order):
        for earlier, least in before[id_]:
            latest[earlier] = min(latest[earlier], latest[id_] - duration[id_] - least)
    chain: list[str] = []
    here = max(project.index, key=finish.__getitem__, default=None)
    while here is not None:
        chain.append(here)
        here = max(before[here], key=lambda b: finish[b[0]] + b[1], default=(None, NOTHING))[0]
    slack = {id_: latest[id_] - finish[id_] for id_ in project.index}
    return CriticalPath(length, tuple(reversed(chain)), slack)
