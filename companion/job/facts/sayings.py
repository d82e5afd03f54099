"""What the companion says, and how urgently."""

from dataclasses import dataclass
from enum import IntEnum, StrEnum


class Priority(IntEnum):
    """When a saying may be heard."""

    ROUTINE = 0
    """Waits for its turn."""
    URGENT = 1
    """Waits for the end of the sentence being spoken."""
    DANGER = 2
    """Interrupts at once."""


class Tone(StrEnum):
    """A short sound before, or instead of, words."""

    HEARD = "heard"
    CUE = "cue"
    URGENT = "urgent"
    DANGER = "danger"
    ERROR = "error"
    NOT_UNDERSTOOD = "not understood"


@dataclass(frozen=True)
class Saying:
    """One thing to say. The text is for the screen; `wording.for_the_ear` makes the spoken form."""

    text: str
    priority: Priority = Priority.ROUTINE
    tone: Tone | None = None
    safety: bool = False
    """Repeated when it could not be played."""
