"""Limits, times, depths and volumes that are said, against those that are kept."""

import dataclasses
import re
from collections.abc import Iterator
from datetime import timedelta

from companion.procedure.checks.words.text import Quantity, content, quantities, same
from companion.procedure.fault import Fault, Path, Rule
from companion.procedure.model import Act, Measure, Procedure, Step
from companion.procedure.order import Order
from companion.procedure.unit_table import MEASURED
from companion.procedure.units import short

SAID = Rule(
    "limit-said",
    "Another limit is said than is kept.",
    "A reading that should stop the job passes, or one that is well stops it.",
    "Look the limit up, and write the same in both.",
)
UNKEPT = Rule(
    "limit-in-words-alone",
    "A limit is said and not kept.",
    "Any reading passes.",
    "Write it as `at_most` or `at_least` of the reading.",
)
UNIT = Rule(
    "unit-said",
    "Another unit is said than the reading has.",
    "The number is read off in one and judged in the other.",
    "Write the unit of the instrument in both.",
)
TIME = Rule(
    "time-said",
    "Another time is said than is waited.",
    "The wait ends too early, or its end is not trusted.",
    "Look it up, and write the same in both.",
)
DEPTH = Rule(
    "depth-said",
    "Another depth of bead is said than is reckoned with.",
    "It is filled before the bead has cured through.",
    "Write the same in `say` and `depth`.",
)
VOLUME = Rule(
    "volume-said",
    "Another volume is said than the limits allow.",
    "The machine runs with too little in it, or too much.",
    "Look it up, and write the same in both.",
)
_MOST = re.compile(r"\b(?:at most|no more than|not more than|maximum|max\.?|up to|less than|under|below) $")
_LEAST = re.compile(r"\b(?:at least|no less than|not less than|minimum|min\.?|more than|over|above) $")
_TIMES = {"s": 1, "min": 60, "h": 3600}
_NEAR = 0.25
"""A rough volume, such as "about six litres", may be off by this share. Common practice, no source."""


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's limits and times."""
    filled = {item: step.measure for step in procedure.steps for item in step.closes if step.measure}
    for position, step in enumerate(procedure.steps):
        path: Path = ("steps", position)
        yield from _limits(path, procedure, step)
        yield from _wait(path, procedure, step)
        yield from _depth(path, step)
        for item in step.opens:
            measure = filled.get(item)
            if step.act is Act.DRAIN and measure and measure.unit == "L":
                yield from _volume(path, step, measure, _NEAR)
        if step.measure and step.measure.unit == "L":
            yield from _volume(path, step, step.measure, 0.0)


def reading_of(procedure: Procedure, step: Step) -> Measure | None:
    """What is read off in a step: its own, or that of the source which it proves."""
    return step.measure or (procedure.energy[step.proves].prove if step.proves else None)


def _limits(path: Path, procedure: Procedure, step: Step) -> Iterator[Fault]:
    measure = reading_of(procedure, step)
    said = [q for q in quantities(step.say) if q.unit in MEASURED or q.unit == "°"]
    limits = [(q, _kind(q)) for q in said if _kind(q) and q.unit != "N·m"]
    limits += _ranges(step.say, said)
    if measure is None:
        for one, _ in limits:
            if step.act in (Act.INSPECT, Act.VERIFY):
                message = f"'{one.shown}' is said as a limit, and nothing is read off; write `measure`"
                yield UNKEPT.at((*path, "say"), message)
        return
    for one, kind in limits:
        if one.unit != measure.unit and not (one.unit == "°" and measure.unit == "°C"):
            if not any(q.unit == measure.unit for q in said):
                message = f"'{one.shown}' is said, and the reading is in {measure.unit}; one is wrong"
                yield UNIT.at((*path, "say"), message)
            continue
        kept = measure.at_most if kind == "at_most" else measure.at_least
        if kept is None:
            message = f"'{kind.replace('_', ' ')} {one.shown}' is said, and the reading has no `{kind}`"
            yield UNKEPT.at((*path, "say"), f"{message}; write it")
        elif not same(kept, one.value):
            message = (
                f"'{one.shown}' is said, and `{kind}` is {kept:g} {measure.unit}; look up which is right"
            )
            yield SAID.at((*path, "say"), message)


def _ranges(text: str, said: list[Quantity]) -> list[tuple[Quantity, str]]:
    """Both ends of "between 4 and 5 mm"; the first may stand without its unit."""
    found: list[tuple[Quantity, str]] = []
    every = quantities(text)
    for high in said:
        before = [low for low in every if low.end <= high.start]
        if before and re.search(r"\bbetween \S+(?: [^\W\d]+)? and $", high.before):
            found += [(dataclasses.replace(before[-1], unit=high.unit), "at_least"), (high, "at_most")]
    return found


def _kind(said: Quantity) -> str:
    return "at_most" if _MOST.search(said.before) else "at_least" if _LEAST.search(said.before) else ""


def _wait(path: Path, procedure: Procedure, step: Step) -> Iterator[Fault]:
    texts = (("say", step.say), ("more", step.more or ""))
    if step.wait is not None:
        for said, length in _lengths(step.say):
            if length != step.wait:
                message = f"'{said.shown}' is said, and `wait` is {short(step.wait)}; one is wrong"
                yield TIME.at((*path, "say"), message)
    elif step.isolates and (wait := procedure.energy[step.isolates].wait):
        for field, text in texts:
            for said, length in _lengths(text):
                if length > wait:
                    message = (
                        f"'{said.shown}' is said, and the `wait` of '{step.isolates}' is {short(wait)}; "
                        "take the maker's value for both"
                    )
                    yield TIME.at((*path, field), message)
    elif step.applies and (skin := procedure.consumables[step.applies.consumable].skin_over):
        for field, text in texts:
            for said, length in _lengths(text):
                if length > skin and re.search(r"\b(?:within|in under|less than|before) $", said.before):
                    message = (
                        f"'{said.shown}' is said, and it skins over after {short(skin)}; take the shorter"
                    )
                    yield TIME.at((*path, field), message)


def _lengths(text: str) -> Iterator[tuple[Quantity, timedelta]]:
    for said in quantities(text):
        if said.unit in _TIMES:
            yield said, timedelta(seconds=said.value * _TIMES[said.unit])


def _depth(path: Path, step: Step) -> Iterator[Fault]:
    if step.applies and step.applies.depth is not None:
        for said in quantities(step.say):
            if said.unit == "mm" and not same(said.value, step.applies.depth):
                message = f"'{said.shown}' is said, and `depth` is {step.applies.depth:g} mm; one is wrong"
                yield DEPTH.at((*path, "say"), message)


def _volume(path: Path, step: Step, measure: Measure, near: float) -> Iterator[Fault]:
    for field, text in (("say", step.say), ("more", step.more or "")):
        for said in quantities(text):
            if said.unit != "L" or _kind(said) or "pan" in content(said.sentence):
                continue
            low = (measure.at_least or 0.0) * (1 - near)
            high = (measure.at_most or float("inf")) * (1 + near)
            if not low <= said.value <= high:
                limits = f"{measure.at_least or 0:g} to {measure.at_most or 0:g} L"
                message = f"'{said.shown}' is said, and {measure.what} is {limits}; look up which is right"
                yield VOLUME.at((*path, field), message)
