"""Plans from logged times: expected durations, and when the job will end by chance."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from companion.labour.model.fitted import Fitted
from companion.labour.plan.planner import Plan, finishes, when
from companion.labour.table.task import labour_of
from companion.procedure.model import Procedure

DRAWS = 200
"""Possible next jobs that a spread of finishes is told from."""


def expected_times(procedure: Procedure, fitted: Fitted, mechanic: str = "") -> dict[str, timedelta]:
    """Mean time of each step that is work, by id: means, because a plan adds them up."""
    return {task.step: fitted.step(task, mechanic).mean for task in labour_of(procedure)}


def drawn_times(
    procedure: Procedure, fitted: Fitted, mechanic: str = "", draws: int = DRAWS
) -> Iterator[Mapping[str, timedelta]]:
    """Possible next jobs: the time of each step that is work, by id. A rusty car slows all its steps."""
    tasks = labour_of(procedure)
    jobs = fitted.draw(tasks, mechanic)
    for row in jobs[np.linspace(0, len(jobs) - 1, draws).astype(int)]:
        yield {task.step: timedelta(seconds=float(s)) for task, s in zip(tasks, row, strict=True)}


@dataclass(frozen=True)
class FinishSpread:
    """When the job will end, the order of the plan kept."""

    half: datetime
    """As likely before as after."""
    careful: datetime
    """Four jobs in five have ended by then."""
    unlucky: datetime
    """Nineteen in twenty have."""
    broken: float
    """Share of possible jobs in which a longest lag could not be kept in that order."""

    def __str__(self) -> str:
        """Such as "half of such jobs end by Mon 2 Mar 16:10, four in five by Tue 3 Mar 08:20"."""
        return f"half of such jobs end by {when(self.half)}, four in five by {when(self.careful)}"


def finish_spread(plan: Plan, jobs: Iterator[Mapping[str, timedelta]]) -> FinishSpread | None:
    """From possible jobs (`drawn_times`); None when the plan's order works in none of them."""
    drawn = list(jobs)
    ends = sorted(finishes(plan, drawn))
    if not ends:
        return None

    def by(share: float) -> datetime:
        return ends[min(len(ends) - 1, int(np.ceil(share * len(ends))) - 1)]

    return FinishSpread(by(0.5), by(0.8), by(0.95), 1 - len(ends) / len(drawn))
