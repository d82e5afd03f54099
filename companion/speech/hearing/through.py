"""Whether a command could be heard through what is there now. When it could not, that is told in ten seconds.

A place hinders when talk or noise as loud as the mechanic goes on without a pause. How loud the mechanic is,
the commands that were obeyed tell. Pure.
"""

from datetime import timedelta
from typing import Literal

Hindrance = Literal["talk", "noise"]

UNBROKEN = timedelta(seconds=9)
"""CHOSEN: people who talk to each other pause sooner; it leaves a second to tell it in."""
NEARLY_AS_LOUD = 4.0
"""CHOSEN: decibels of talk under the latest commands; a third to a half of all commands is lost there."""
DROWNED = 3.0
"""CHOSEN: decibels of steady noise under the latest commands."""
LOUD_TALK = -40.0
"""CHOSEN: decibels of full scale; talk from which on it is told before any command was obeyed."""
SELDOM = timedelta(minutes=10)
"""CHOSEN: it is not told again sooner: who heard it knows."""


class Through:
    """Watches, a look each second or so."""

    def __init__(self) -> None:
        self._told: timedelta | None = None

    def look(
        self, now: timedelta, unbroken: timedelta, often: float, seldom: float, usual: float | None
    ) -> Hindrance | None:
        """What hinders, when it is to be told.

        Args:
            now: time of the stream.
            unbroken: how long voices have gone on without a pause.
            often: decibels that the last seconds exceeded half of the time.
            seldom: the same, a tenth of the time.
            usual: level of the latest commands; None before the first.
        """
        if self._told is not None and now - self._told < SELDOM:
            return None
        found: Hindrance | None = None
        if unbroken >= UNBROKEN and seldom > (LOUD_TALK if usual is None else usual - NEARLY_AS_LOUD):
            found = "talk"
        elif now >= UNBROKEN and usual is not None and often > usual - DROWNED:
            found = "noise"
        if found:
            self._told = now
        return found
