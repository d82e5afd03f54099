"""When the job will end, from logged times: expected durations, and the spread of the finish."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from companion.labour.model.fitted import Fitted
from companion.labour.plan.planner import Plan, when
from companion.labour.plan.timing import Timing
from companion.labour.table.hours import later
from companion.labour.table.task import labour_of
from companion.procedure.model import Procedure

DRAWS = 200
"""How many possible next jobs a spread of finishes is told from."""


def expected_times(procedure: Procedure, fitted: Fitted, mechanic: str = "") -> dict[str, timedelta]:
    """The mean time of each step that is work, by id. Means, because a plan adds them up.

    With nothing logged it is the book's time.
    """
    if not fitted.jobs:
        return {task.step: task.book for task in labour_of(procedure)}
    return {task.step: fitted.step(task, mechanic).mean for task in labour_of(procedure)}


def drawn_times(
    procedure: Procedure, fitted: Fitted, mechanic: str = "", draws: int = DRAWS
) -> Iterator[Mapping[str, timedelta]]:
    """Possible next jobs: for each the time of every step that is work, by id. A rusty car slows them all."""
    tasks = labour_of(procedure)
    jobs = fitted.draw(tasks, mechanic)
    for row in jobs[np.linspace(0, len(jobs) - 1, draws).astype(int)]:
        yield {task.step: timedelta(seconds=float(s)) for task, s in zip(tasks, row, strict=True)}


@dataclass(frozen=True)
class FinishSpread:
    """When the job will end, the order of the plan kept."""

    half: datetime
    """Half of such jobs have ended by then."""
    careful: datetime
    """Four in five have."""
    unlucky: datetime
    """Nineteen in twenty have."""
    broken: float
    """The share of possible jobs in which that order cannot keep a longest lag."""

    def __str__(self) -> str:
        """Such as "half of such jobs end by Mon 2 Mar 16:10, four in five by Tue 3 Mar 08:20"."""
        return f"half of such jobs end by {when(self.half)}, four in five by {when(self.careful)}"


def finish_spread(plan: Plan, jobs: Iterator[Mapping[str, timedelta]]) -> FinishSpread | None:
    """The spread over possible jobs (`drawn_times`). None when the plan's order works in none of them."""
    drawn = list(jobs)
    ends = sorted(finishes(plan, drawn))
    if not ends:
        return None

    def by(share: float) -> datetime:
        return ends[min(len(ends) - 1, int(np.ceil(share * len(ends))) - 1)]

    return FinishSpread(by(0.5), by(0.8), by(0.95), 1 - len(ends) / len(drawn))


def finishes(plan: Plan, durations: Iterable[Mapping[str, timedelta]]) -> list[datetime]:
    """When the job would end for each set of durations, with the order of the plan kept.

    Durations are by id; those not named are as planned. Sets in which that order cannot keep a longest lag
    are left out.
    """
    order = [plan.project.index[id_] for id_ in plan.order]
    ends = []
    for drawn in durations:
        activities = tuple(replace(a, duration=drawn.get(a.id, a.duration)) for a in plan.project.activities)
        timing = Timing(replace(plan.project, activities=activities), plan.calendar, plan.mechanics)
        times = timing.in_order(order)
        if times is not None:
            ends.append(later(plan.start, max(times.end, default=0)))
    return ends
