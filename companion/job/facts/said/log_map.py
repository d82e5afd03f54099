"""What was said and asked, as the log has it: maps of texts, written and read here alone."""

import math
from collections.abc import Mapping
from datetime import timedelta
from typing import TypeVar, assert_never

from companion.job.facts.commands import Command
from companion.job.facts.said import questions as q
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


def about(question: q.Question) -> dict[str, str]:
    """The map of what a question is about."""
    match question:
        case q.PartOnBench() | q.PartWhen():
            return {"part": question.part}
        case q.StepWanted() | q.SkipReason() | q.LeaveOutReason():
            return {"step": question.step}
        case q.DidYouSay():
            said = {f"argument {key}": text for key, text in as_map(question.given).items()}
            return {"command": question.command.value, **said}
        case q.ReadingRight():
            whose = {"energy": question.energy, "step": question.step}
            return {"value": f"{question.value:.12g}", "unit": question.unit, **_there(whose)}
        case q.Proof():
            return {"energy": question.energy}
        case q.NoteWords():
            return {} if question.again is None else {"again": str(question.again)}
        case q.PartKnown() | q.PartRight():
            wait = {} if question.wait is None else {"minutes": minutes(question.wait)}
            return {"part": question.part, **wait}
        case q.PartHere():
            return {"deadline": question.deadline}
        case q.StopWork():
            if question.before is None:
                return {}
            before = {f"about {key}": text for key, text in about(question.before).items()}
            return {"before": question.before.name, "asked": question.asked, **before}
        case q.LeaveOut():
            return {"step": question.step, **({"reason": question.reason} if question.reason else {})}
        case q.AdviceUnderstood() | q.TimerLength() | q.PartName() | q.Close():
            return {}
        case _:
            assert_never(question)


def question_in(name: str, about: Mapping[str, str]) -> q.Question:
    """The question that a log has.

    Raises:
        ValueError: there is no such question, or not about that.
    """
    try:
        return _question(name, about)
    except KeyError as error:
        raise ValueError(f"the question {name!r} does not say which {error.args[0]}") from error


def _question(name: str, about: Mapping[str, str]) -> q.Question:
    match name:
        case q.PartOnBench.name:
            return q.PartOnBench(about["part"])
        case q.AdviceUnderstood.name:
            return q.AdviceUnderstood()
        case q.StepWanted.name:
            return q.StepWanted(about["step"])
        case q.DidYouSay.name:
            command = Command(about["command"])
            return q.DidYouSay(command, given_in(command, _under("argument ", about)))
        case q.ReadingRight.name:
            value = _sure(measured(about["value"], about["unit"]), Measured)
            return q.ReadingRight(value.value, value.unit, about.get("energy"), about.get("step"))
        case q.Proof.name:
            return q.Proof(about["energy"])
        case q.NoteWords.name:
            return q.NoteWords(int(about["again"]) if "again" in about else None)
        case q.SkipReason.name:
            return q.SkipReason(about["step"])
        case q.TimerLength.name:
            return q.TimerLength()
        case q.PartName.name:
            return q.PartName()
        case q.PartKnown.name:
            wait = _sure(length(about["minutes"]), Length).time if "minutes" in about else None
            return q.PartKnown(about["part"], wait)
        case q.PartWhen.name:
            return q.PartWhen(about["part"])
        case q.PartRight.name:
            return q.PartRight(about["part"], _sure(length(about["minutes"]), Length).time)
        case q.PartHere.name:
            return q.PartHere(about["deadline"])
        case q.StopWork.name:
            before = about.get("before")
            waiting = None if before is None else question_in(before, _under("about ", about))
            return q.StopWork(waiting, about.get("asked", ""))
        case q.LeaveOut.name:
            return q.LeaveOut(about["step"], about.get("reason", ""))
        case q.LeaveOutReason.name:
            return q.LeaveOutReason(about["step"])
        case q.Close.name:
            return q.Close()
        case _:
            raise ValueError(f"there is no question {name!r}")


def _under(prefix: str, about: Mapping[str, str]) -> dict[str, str]:
    """The fields whose names begin with the prefix, without it."""
    return {key.removeprefix(prefix): text for key, text in about.items() if key.startswith(prefix)}


def _there(found: Mapping[str, str | None]) -> dict[str, str]:
    return {key: text for key, text in found.items() if text is not None}


V = TypeVar("V", Measured, Length)


def _sure(found: V | Unreadable, kind: type[V]) -> V:
    if not isinstance(found, kind):
        raise ValueError(f"{found} is no {kind.__name__}")
    return found


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
