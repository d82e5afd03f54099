"""What waits, and the clock it waits by."""

from datetime import datetime
from typing import Literal

from companion.job.facts.events.event import Event


class DeadlineSet(Event):
    """Something will be due."""

    event: Literal["deadline_set"] = "deadline_set"
    deadline: str
    kind: str
    """What sort of wait it is."""
    what: str
    """As said when it is due."""
    due: datetime
    """UTC."""
    priority: int
    """0 routine, 1 urgent, 2 danger."""
    about: str = ""
    """The step, energy source, consumable or part concerned."""
    running: str = ""
    """What it is as long as it runs: "isolation wait for the battery"."""
    desk: bool = False
    """Written by the command line: nobody was at the car."""


class DeadlineAnnounced(Event):
    """It was said that something is due."""

    event: Literal["deadline_announced"] = "deadline_announced"
    deadline: str
    late_s: float = 0.0
    """How late it was said."""
    times: int = 1
    """1 the first time; more for the repeats of an urgent one."""


class DeadlineSettled(Event):
    """A deadline was acknowledged or cancelled. A routine one needs no such event: to be announced settles
    it, unless it is a part that must still come. Nor do the waits of a step that is undone: they go with it.
    """

    event: Literal["deadline_settled"] = "deadline_settled"
    deadline: str
    how: str
    """"acknowledged", "cancelled", "overtaken" of a warning, "arrived" of a part, "done" of a follow-up."""
    desk: bool = False
    """Written by the command line: nobody was at the car."""


class ClockMoved(Event):
    """The wall clock was set, forward when positive: every deadline moves with it and keeps its length."""

    event: Literal["clock_moved"] = "clock_moved"
    by_s: float
    """How far."""
    unsure: bool = False
    """The machine was off for an unknown time: skin-over is treated as expired."""


class CheckInEscalated(Event):
    """No answer from someone working alone."""

    event: Literal["check_in_escalated"] = "check_in_escalated"
    stage: int
    """1 and 2: asked. From 3 on: the alarm. At 4 the alarm command is run."""


DeadlineEvent = DeadlineSet | DeadlineAnnounced | DeadlineSettled | ClockMoved | CheckInEscalated
