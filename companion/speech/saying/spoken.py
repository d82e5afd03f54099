"""What became of a saying, as the mouth reports it."""

from dataclasses import dataclass


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
