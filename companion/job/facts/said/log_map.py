"""What was said, as the log has it: a map of texts, written and read here alone."""

import math
from collections.abc import Mapping
from datetime import timedelta
from typing import assert_never

from companion.job.facts.commands import Command
from companion.job.facts.said.given import (
    Count,
    Given,
    Length,
    Measured,
    PartAndWait,
    Reason,
    SpokenState,
    StepNumber,
    Thing,
    Unreadable,
    Words,
)

MINUTE = timedelta(minutes=1)
_LONGEST_NUMBER = 4
"""Digits of a count, or of the number of a step."""


def as_map(given: Given | None) -> dict[str, str]:
    """The map of what was said with a command."""
    match given:
        case None:
            return {}
        case SpokenState():
            return {"state": given.words}
        case Measured():
            return {"value": exact(given.value), "unit": given.unit}
        case Count() | StepNumber():
            return {"number": str(given.number)}
        case Length():
            return {"minutes": minutes(given.time)}
        case Words():
            return {"text": given.text}
        case PartAndWait():
            return {"text": given.text, "part": given.name, "minutes": minutes(given.wait)}
        case Reason():
            return {"reason": given.text}
        case Thing():
            both = {"item": given.name, "reason": given.reason}
            return {key: text for key, text in both.items() if text}
        case Unreadable():
            unit = {"unit": given.unit} if given.what == "value" else {}
            return {given.what: given.text, **unit}
        case _:
            assert_never(given)


def given_in(command: Command, said: Mapping[str, str]) -> Given | None:
    """What a map says beside the command; None when it says nothing."""
    match command:
        case Command.STATE if "state" in said:
            return SpokenState(said["state"])
        case Command.READING if said:
            return measured(said.get("value", ""), said.get("unit", ""))
        case Command.COUNT | Command.STEP if said.get("number"):
            number = _whole(said["number"])
            if number is None:
                return Unreadable(said["number"], "number")
            return Count(number) if command is Command.COUNT else StepNumber(number)
        case Command.DURATION | Command.START_TIMER if said.get("minutes"):
            return length(said["minutes"])
        case Command.SKIP if said.get("reason"):
            return Reason(said["reason"])
        case Command.LEAVE_OUT if said:
            return Thing(said.get("item", ""), said.get("reason", ""))
        case Command.NOTE | Command.WORDS | Command.HOLD | Command.AWAIT_PART if "text" in said:
            wait = length(said["minutes"]) if "minutes" in said else None
            if isinstance(wait, Length):
                return PartAndWait(said["text"], said.get("part", ""), wait.time)
            return Words(said["text"])
        case _:
            return None


def measured(value: str, unit: str) -> Measured | Unreadable:
    """A reading, from its digits."""
    number = _number(value)
    return Unreadable(value, "value", unit) if number is None else Measured(number, unit)


def length(text: str) -> Length | Unreadable:
    """A length of time, from its minutes in digits."""
    number = _number(text)
    try:
        return Unreadable(text, "minutes") if number is None else Length(number * MINUTE)
    except OverflowError:
        return Unreadable(text, "minutes")


def exact(number: float) -> str:
    """In plain digits where that tells all of it: "12.6"."""
    text = f"{number:.6f}".rstrip("0").rstrip(".")
    return text if float(text) == number else repr(number)


def minutes(time: timedelta) -> str:
    """A length of time in minutes."""
    return exact(time / MINUTE)


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) and "_" not in text else None


def _whole(text: str) -> int | None:
    return int(text) if text.isdecimal() and len(text) <= _LONGEST_NUMBER else None
