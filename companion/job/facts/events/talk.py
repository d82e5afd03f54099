"""What was said and heard, asked and answered."""

from typing import Literal

from pydantic import Field

from companion.job.facts.events.event import Event


class HeardCommand(Event):
    """A command was understood, spoken, typed or pressed."""

    event: Literal["heard"] = "heard"
    command: str
    """Its name."""
    arguments: dict[str, str] = Field(default_factory=dict)
    """What was said with it: a reading and its unit, a number, words."""
    text: str = ""
    """As heard or typed."""
    source: str = "voice"
    """"voice" or "keys"."""
    score: float = 1.0
    """How sure the recogniser was, 0 to 1."""
    clip: str | None = None
    """Its sound, where that is kept."""


class Misheard(Event):
    """Speech that was not acted on: unsure (asked back) or not understood."""

    event: Literal["misheard"] = "misheard"
    text: str
    """What it sounded like."""
    guess: str | None = None
    """The command that was asked back."""
    score: float = 0.0
    """How sure the recogniser was, 0 to 1."""
    told: bool = False
    """Whoever said it was told by a tone."""


class Said(Event):
    """The companion said something."""

    event: Literal["said"] = "said"
    text: str
    """As shown."""
    priority: int = 0
    """0 routine, 1 urgent, 2 danger."""


class SayingLost(Event):
    """A saying could not be played."""

    event: Literal["saying_lost"] = "saying_lost"
    text: str
    """As shown."""
    reason: str
    """What went wrong."""


class Refused(Event):
    """A command that the state of the job does not allow."""

    event: Literal["refused"] = "refused"
    command: str
    """Its name."""
    reason: str
    """As said."""


class Asked(Event):
    """The companion asked something; the next answer belongs to it."""

    event: Literal["asked"] = "asked"
    question: str
    """What kind of answer is awaited."""
    about: dict[str, str] = Field(default_factory=dict)
    """What it is about, as the kind of question needs."""
    text: str = ""
    """As asked aloud."""


class Answered(Event):
    """The open question is settled (or dropped)."""

    event: Literal["answered"] = "answered"
    answer: str
    """In a word or two."""


class NoteTaken(Event):
    """Something the mechanic wants kept."""

    event: Literal["note_taken"] = "note_taken"
    note: int
    """From 1 in each job."""
    step: str | None
    """The step it was said at, by its id."""
    text: str
    """As understood, or typed."""
    clip: str | None = None
    """Its sound: the name of a file beside the log."""


class NoteDropped(Event):
    """A note was taken back."""

    event: Literal["note_dropped"] = "note_dropped"
    note: int


class LookedBack(Event):
    """An earlier step is looked at again. Old logs tell the end of the look by one without a step."""

    event: Literal["looked_back"] = "looked_back"
    step: str | None


class LookEnded(Event):
    """The look at an earlier step is over: back to the one in hand."""

    event: Literal["look_ended"] = "look_ended"


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
    | LookEnded
)
