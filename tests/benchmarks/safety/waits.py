"""A second opinion on what waits: never early, never lost, told late once."""

import copy
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from companion.job.facts import events as ev
from tests.benchmarks.safety.unsafe import check

SLACK = timedelta(seconds=2.001)
"""Clocks that disagree by less are taken to agree; a jump smaller than this may go unnoticed."""
URGENT = ("timer:", "wait:", "skin-over:", "log")
"""Deadlines that are repeated until somebody acknowledges them; the others are said once."""


@dataclass
class Expected:
    """A deadline, in time that nobody can set."""

    due: timedelta
    announced: int = 0


@dataclass
class Waits:
    """The deadlines of one job."""

    deadlines: dict[str, Expected] = field(default_factory=dict)
    waiting_since: dict[str, timedelta] = field(default_factory=dict)
    """Steps that are waits, by when they were begun."""

    def copy(self) -> "Waits":
        kept = {id_: copy.copy(deadline) for id_, deadline in self.deadlines.items()}
        return Waits(kept, self.waiting_since.copy())

    def set(self, event: ev.DeadlineSet, said_yes: bool, time: timedelta, wall: datetime) -> None:
        """Something will be due."""
        if event.deadline.startswith("part:"):
            check(event.desk or said_yes, "a part awaited without a yes")
        self.deadlines[event.deadline] = Expected(time + (event.due - wall))
        kind, _, about = event.deadline.partition(":")
        if kind == "wait":
            self.waiting_since[about] = time

    def announced(self, event: ev.DeadlineAnnounced, time: timedelta) -> None:
        """It was said."""
        waited = self.deadlines[event.deadline]
        late = time - waited.due
        check(late >= -SLACK, f"{event.deadline} was announced early by {-late}")
        if event.late_s:
            told = timedelta(seconds=event.late_s)
            check(waited.announced == 0, f"{event.deadline} was told twice to be late")
            check(told <= late + SLACK, f"{event.deadline} told {told} late, was {late}")
        waited.announced += 1
        if not event.deadline.startswith((*URGENT, "part:")):
            self.deadlines.pop(event.deadline)

    def settled(self, event: ev.DeadlineSettled, said_yes: bool, time: timedelta) -> None:
        """It waits no longer."""
        gone = self.deadlines.pop(event.deadline)
        over = gone.announced and time >= gone.due - SLACK
        check(event.how != "acknowledged" or bool(over), f"{event.deadline} was settled early")
        if event.how == "arrived":
            check(event.deadline.startswith("part:"), f"{event.deadline} is no part")
            check(event.desk or said_yes, "a part came without a yes")

    def nobody_knows(self, time: timedelta) -> None:
        """The machine was off: what skins over may have done so."""
        for id_, deadline in self.deadlines.items():
            if id_.startswith("skin-over:"):
                deadline.due = min(deadline.due, time)

    def over(self, *ids: str) -> None:
        """What was begun is undone, or done in time: these wait no longer."""
        for id_ in ids:
            self.deadlines.pop(id_, None)

    def timer_runs(self) -> bool:
        return any(id_.startswith("timer:") for id_ in self.deadlines)
