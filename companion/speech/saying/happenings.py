"""A saying on its way through the mouth, and what became of it."""

from dataclasses import dataclass

from companion.job.facts.sayings import Priority, Tone


@dataclass
class Saying:
    """What is to be said, and how far it has got."""

    saying_id: str
    sentences: list[str]
    """At least one; a tone alone has one empty sentence."""
    priority: Priority
    tone: Tone | None
    at: int = 0
    """The sentence being spoken, or next."""
    started: bool = False


@dataclass(frozen=True)
class Happening:
    """Something that became of a saying."""

    saying_id: str


class Started(Happening):
    """Its first sound is out."""


class Finished(Happening):
    """Its last sound is out."""


class Cut(Happening):
    """Stopped, or taken out of the queue, before its end."""


@dataclass(frozen=True)
class Failed(Happening):
    """It was not heard, or not all of it; show it on screen, and repeat what concerns safety."""

    reason: str
