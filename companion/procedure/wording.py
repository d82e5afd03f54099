"""Text made for the ear, from facts: quantities, sizes, times, lists, and how much goes in one saying.

`for_the_ear`, below, does the same for a sentence that was written for the screen.
"""

import re
from collections.abc import Sequence
from datetime import timedelta
from math import ceil

from companion.procedure.nouns import plural
from companion.procedure.numbers import number
from companion.procedure.spoken import for_the_ear
from companion.procedure.unit_table import UNITS
from companion.procedure.units import Angle, Torque

__all__ = [
    "ago",
    "angle",
    "count",
    "duration",
    "facts",
    "for_the_ear",
    "listing",
    "plural",
    "quantity",
    "sentences",
    "stages",
    "thread",
    "torque",
]

MOST_FACTS = 3
"""In one saying: people read back longer ones wrongly."""

_SENTENCE_END = re.compile(r"(?<=[.!?])[\"')]*\s+")
_TORQUE = re.compile("|".join([UNITS["N·m"].one, *(rf"\b{re.escape(s)}\b" for s in UNITS["N·m"].symbols)]))


def quantity(value: float | str, unit: str) -> str:
    """A value with the symbol of its unit: "twelve point six volts", "one newton metre".

    Raises:
        ValueError: a unit that is not known; a value that is no number.
    """
    if unit not in UNITS:
        raise ValueError(f"unit {unit!r} is not known; use one of {', '.join(UNITS)}")
    said = UNITS[unit]
    return f"{number(value)} {said.one if float(value) == 1 else said.many}"


def torque(value: Torque) -> str:
    """Such as "twenty five newton metres"."""
    return quantity(value.newton_metres, "N·m")


def angle(value: Angle) -> str:
    """Such as "ninety degrees"."""
    return quantity(value.degrees, "°")


def stages(tightening: Sequence[Torque | Angle]) -> list[str]:
    """One sentence a stage, because one value is said at a time; angles are "a further" turn."""
    said = [torque(s) if isinstance(s, Torque) else f"a further {angle(s)}" for s in tightening]
    if len(said) == 1:
        return [f"{said[0][0].upper()}{said[0][1:]}."]
    return [f"Stage {number(n)}: {words}." for n, words in enumerate(said, start=1)]


def thread(size: str) -> str:
    """ "M10x1.25" as "M ten by one point two five"; six-lobe sizes such as "T30" likewise."""
    return for_the_ear(size)


def duration(length: timedelta, *, seconds: bool = False) -> str:
    """Such as "one hour twenty minutes", "under a minute".

    Rounded up to the whole minute, so that a wait is never understated; from a day on to the hour, with a
    minute's grace, since two clocks never quite agree.
    With `seconds`, anything under two minutes is said in seconds.
    """
    total = length.total_seconds()
    if total < 0:
        return f"minus {duration(-length, seconds=seconds)}"
    if seconds and total < 120:
        return count(ceil(total), "second")
    if total < 60:
        return "under a minute"
    minutes = ceil(total / 60)
    if minutes < 24 * 60:
        parts = ((minutes // 60, "hour"), (minutes % 60, "minute"))
    else:
        hours = ceil((total - 60) / 3600)
        parts = ((hours // 24, "day"), (hours % 24, "hour"))
    return " ".join(count(n, noun) for n, noun in parts if n)


def ago(length: timedelta) -> str:
    """How long something lies back, in its largest unit, rounded down: "three days ago", "just now"."""
    seconds = length.total_seconds()
    for size, noun in ((14 * 86400, "week"), (86400, "day"), (3600, "hour"), (60, "minute")):
        if seconds >= size:
            return f"{count(int(seconds // min(size, 7 * 86400)), noun)} ago"
    return "just now"


def count(n: int, noun: str) -> str:
    """Such as "six bolts", "one hose", "no seals"; `noun` is singular."""
    return f"{'no' if n == 0 else number(n)} {noun if n == 1 else plural(noun)}"


def listing(things: Sequence[str]) -> str:
    """Such as "the battery, the fuel line and one hose"; "nothing" for none."""
    if len(things) < 2:
        return "".join(things) or "nothing"
    return f"{', '.join(things[:-1])} and {things[-1]}"


def facts(stated: Sequence[str], most: int = MOST_FACTS) -> list[str]:
    """Group facts into sayings: at most so many in one, in order, and no two torques in one."""
    groups: list[list[str]] = []
    for fact in stated:
        full = not groups or len(groups[-1]) >= most
        if full or (_TORQUE.search(fact) and any(_TORQUE.search(other) for other in groups[-1])):
            groups.append([])
        groups[-1].append(fact)
    return [f"{said[0].upper()}{said[1:]}." for said in map(listing, groups)]


def sentences(text: str) -> list[str]:
    """The sentences of a text, each with its end mark; nothing for a blank text."""
    return [sentence for sentence in _SENTENCE_END.split(text.strip()) if sentence]
