"""Marks of what was left to do, signal words, and how grave a hazard sounds."""

import re
from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel

from companion.procedure.fault import Fault, Path, Rule
from companion.procedure.model import Hazard, Procedure, Signal
from companion.procedure.order import Order

TODO = Rule(
    "left-to-do",
    "A mark of what was left to do is said or shown.",
    "The value behind it is not known yet.",
    "Find it out, and write it instead.",
)
UNSAID = Rule(
    "signal-in-words-alone",
    "A signal word is said, and no hazard of the step has it.",
    "A danger that is only in the words wants no confirmation.",
    "Write it under `hazards`, with what happens and how to avoid it.",
)
TOO_MILD = Rule(
    "signal-too-mild",
    "A hazard has a milder signal word than what it tells of.",
    "It is read like a remark, and a bare 'done' passes it.",
    "Choose the word by what may happen: ANSI Z535.4 has DANGER and WARNING for death or serious injury, "
    "CAUTION for lesser ones, NOTICE for none.",
)
_TODO = re.compile(
    r"\b(?:todo|fixme|tbc|tbd|tba)\b|\bxx+\b|\?\?+|_{3,}|\d ?(?:N·m|Nm|mm|V|L|bar)\?"
    r"|\blorem ipsum\b|<[a-z ]+>",
    re.IGNORECASE,
)
_SIGNAL = re.compile(r"(?:^|[.!?] )(danger|warning|caution)\s*[!:,.]", re.IGNORECASE)
_GRAVE = re.compile(
    r"\b(?:crush(?:es|ed)?|falls? on|slips off|comes? down on|explo\w+|electrocut\w+|electric shock|kills?"
    r"|death|high voltage|springs? (?:back|out)|under pressure|stored pressure|scalds?|steam"
    r"|catch(?:es)? (?:hair|sleeves)|exhaust gas|suffocat\w+)\b",
    re.IGNORECASE,
)
_HARMS = re.compile(
    r"\b(?:eyes?|skin|lungs?|poison\w*|harm(?:s|ful)?|sharp|cuts?|burns?|irritat\w+|injur\w+|fingers?"
    r"|hurts?|hot|snaps? back)\b",
    re.IGNORECASE,
)
_RANK = {Signal.NOTICE: 0, Signal.CAUTION: 1, Signal.WARNING: 2, Signal.DANGER: 3}


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Marks anywhere; signal words of steps; hazards of the job and of steps."""
    for path, text in texts(procedure):
        if "review" not in path and (mark := _TODO.search(text)):
            yield TODO.at(path, f"'{mark[0]}' marks what is left to do; write the value instead")
    for place, caution in enumerate(procedure.cautions):
        yield from _mild(("cautions", place, "signal"), caution)
    for position, step in enumerate(procedure.steps):
        for place, hazard in enumerate(step.hazards):
            yield from _mild(("steps", position, "hazards", place, "signal"), hazard)
        for field, text in (("say", step.say), ("more", step.more or "")):
            for match in _SIGNAL.finditer(text):
                said = Signal(match[1].upper())
                if not any(_RANK[hazard.signal] >= _RANK[said] for hazard in step.hazards):
                    message = f"'{match[1]}' is said, and no hazard of the step is as grave; write it as one"
                    yield UNSAID.at(("steps", position, field), message)


def texts(noun: BaseModel, path: Path = ()) -> Iterator[tuple[Path, str]]:
    """Every text under a noun, ids apart."""
    for name in type(noun).model_fields:
        yield from _under(getattr(noun, name), (*path, name))


def _under(value: Any, path: Path) -> Iterator[tuple[Path, str]]:
    if isinstance(value, BaseModel):
        yield from texts(value, path)
    elif isinstance(value, dict):
        for key, one in value.items():
            yield from _under(one, (*path, key))
    elif isinstance(value, tuple):
        for place, one in enumerate(value):
            yield from _under(one, (*path, place))
    elif isinstance(value, str):
        yield path, value


def _mild(path: Path, hazard: Hazard) -> Iterator[Fault]:
    rank = _RANK[hazard.signal]
    for pattern, least in ((_GRAVE, Signal.WARNING), (_HARMS, Signal.CAUTION)):
        told = pattern.search(hazard.hazard)
        if told and rank < _RANK[least]:
            message = f"'{told[0]}' is more than a {hazard.signal}; write {least} at least"
            yield TOO_MILD.at(path, message)
            return
