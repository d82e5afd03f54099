"""What was said and heard, asked and answered."""

from typing import Literal

from pydantic import Field

from companion.job.facts.events.event import Event


class HeardCommand(Event):
    event: Literal["heard"] = "heard"
    command: str
    arguments: dict[str, str] = Field(default_factory=dict)
    text: str = ""
    source: str = "voice"
    score: float = 1.0
    clip: str | None = None


class Misheard(Event):
    """Speech that was not acted on: unsure (asked back) or not understood."""

    event: Literal["misheard"] = "misheard"
    text: str
    guess: str | None = None
    score: float = 0.0


class Said(Event):
    event: Literal["said"] = "said"
    text: str
    priority: int = 0


class SayingLost(Event):
    """A saying could not be played."""

    event: Literal["saying_lost"] = "saying_lost"
    text: str
    reason: str


class Refused(Event):
    """A command that the state of the job does not allow."""

    event: Literal["refused"] = "refused"
    command: str
    reason: str


class Asked(Event):
    """The companion asked something; the next answer belongs to it."""

    event: Literal["asked"] = "asked"
    question: str
    """What kind of answer is awaited; a value of `state.Question`."""
    about: dict[str, str] = Field(default_factory=dict)
    text: str = ""
    """As asked aloud."""


class Answered(Event):
    """The open question is settled (or dropped)."""

    event: Literal["answered"] = "answered"
    answer: str


class NoteTaken(Event):
    event: Literal["note_taken"] = "note_taken"
    note: int
    """From 1 in each job."""
    step: str | None
    text: str
    clip: str | None = None


class NoteDropped(Event):
    event: Literal["note_dropped"] = "note_dropped"
    note: int


class LookedBack(Event):
    """An earlier step is looked at again; None returns to the current one."""

    event: Literal["looked_back"] = "looked_back"
    step: str | None


TalkEvent = (
    HeardCommand
    | Misheard
    | Said
    | SayingLost
    | Refused
    | Asked
    | Answered
    | NoteTaken
    | NoteDropped
    | LookedBack
)
