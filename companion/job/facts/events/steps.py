"""Steps begun, done, left out and undone, and what was counted and measured in them."""

from typing import Literal

from companion.job.facts.events.event import Event


class StepBegun(Event):
    """A step became the current one and was read out."""

    event: Literal["step_begun"] = "step_begun"
    step: str
    act: str
    """The kind of act."""
    book_s: float
    """Its book time then."""
    work: str
    """A digest of what is done (act, fasteners, items, seals): the same while only the words change."""


class StepDone(Event):
    """A step is done."""

    event: Literal["step_done"] = "step_done"
    step: str
    state: str | None = None
    """The spoken state that confirmed it."""


class StepSkipped(Event):
    """A step is left out."""

    event: Literal["step_skipped"] = "step_skipped"
    step: str
    reason: str
    """In the mechanic's words."""
    for_good: bool = False
    """What it would have tightened or filled is to stay as it is."""


class StepNotNeeded(Event):
    """An optional step that was declined, or one that depends on it."""

    event: Literal["step_not_needed"] = "step_not_needed"
    step: str


class StepWanted(Event):
    """An optional step that was accepted."""

    event: Literal["step_wanted"] = "step_wanted"
    step: str


class StepUndone(Event):
    """A step done, skipped or declined earlier is to be done again; all that it settled is open again."""

    event: Literal["step_undone"] = "step_undone"
    step: str


class StageDone(Event):
    """One tightening stage of the current step."""

    event: Literal["stage_done"] = "stage_done"
    step: str
    stage: int
    """From 1."""


class StageTakenBack(Event):
    """The last tightening stage of the current step was taken back. Old logs tell it by the stage before."""

    event: Literal["stage_taken_back"] = "stage_taken_back"
    step: str
    stage: int
    """The one that is to be done again, from 1."""


class PartChecked(Event):
    """A new part was asked for before the work that needs it."""

    event: Literal["part_checked"] = "part_checked"
    part: str
    on_bench: bool
    """It is there."""


class Counted(Event):
    """One more of a count in the current step."""

    event: Literal["counted"] = "counted"
    step: str
    number: int
    """From 1."""


class CountTakenBack(Event):
    """The last one counted in the current step was taken back. Old logs tell it by the number before."""

    event: Literal["count_taken_back"] = "count_taken_back"
    step: str
    number: int
    """The one that is to be counted again."""


class ReadingTaken(Event):
    """A value was read off, spoken and confirmed."""

    event: Literal["reading_taken"] = "reading_taken"
    step: str
    value: float
    """As confirmed."""
    unit: str
    """As the procedure writes it."""
    within: bool
    """It is inside the limits."""


class ReadingDropped(Event):
    """The reading of the current step was taken back."""

    event: Literal["reading_dropped"] = "reading_dropped"
    step: str


StepEvent = (
    StepBegun
    | StepDone
    | StepSkipped
    | StepNotNeeded
    | StepWanted
    | StepUndone
    | StageDone
    | StageTakenBack
    | PartChecked
    | Counted
    | CountTakenBack
    | ReadingTaken
    | ReadingDropped
)
