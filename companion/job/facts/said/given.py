"""What was said with a command, one type a kind.

Numbers and lengths were read where it was heard or typed; no text here is still to be understood.
"""

import math
from dataclasses import dataclass
from datetime import timedelta
from typing import Literal


@dataclass(frozen=True)
class SpokenState:
    """Such as "battery disconnected"."""

    words: str


@dataclass(frozen=True)
class Measured:
    """A value as it was read off."""

    value: float
    unit: str = ""
    """Empty when none was said: the one that is wanted is meant."""

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError(f"{self.value} measures nothing")


@dataclass(frozen=True)
class Count:
    """One of a counted series."""

    number: int


@dataclass(frozen=True)
class StepNumber:
    """Which step is meant."""

    number: int


@dataclass(frozen=True)
class Length:
    """A length of time."""

    time: timedelta


@dataclass(frozen=True)
class Words:
    """The mechanic's own words."""

    text: str


@dataclass(frozen=True)
class PartAndWait:
    """Own words that end in a length of time: "the pump, back in three days"."""

    text: str
    name: str
    """What comes before it; empty when nothing does."""
    wait: timedelta


@dataclass(frozen=True)
class Reason:
    """Why a step is skipped."""

    text: str


@dataclass(frozen=True)
class Thing:
    """What is to be left out, by its name, and why, where these were said."""

    name: str = ""
    reason: str = ""


@dataclass(frozen=True)
class Unreadable:
    """Words that should have been a number, and are none that can be used."""

    text: str
    what: Literal["value", "number", "minutes"]
    unit: str = ""


Given = (
    SpokenState | Measured | Count | StepNumber | Length | Words | PartAndWait | Reason | Thing | Unreadable
)


def words_of(given: Given | None) -> str:
    """The mechanic's own words, where some were said."""
    return given.text if isinstance(given, Words | PartAndWait) else ""
