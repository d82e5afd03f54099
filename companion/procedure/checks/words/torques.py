"""Torques and angles that are said, against those of the fields."""

import re
from collections.abc import Iterator

from companion.procedure.checks.words.text import FOREIGN, Quantity, head, quantities, same
from companion.procedure.fault import Fault, Path, Rule, advice
from companion.procedure.model import Act, Fastener, Procedure, Step
from companion.procedure.order import Order
from companion.procedure.units import Angle, Torque

SAID = Rule(
    "torque-said",
    "Another torque is said than the field has.",
    "The bolt breaks or comes loose, whichever of the two is followed.",
    "Look the torque up in the source, and write the same in both.",
)
UNKEPT = Rule(
    "torque-in-words-alone",
    "A torque is said and no field has it.",
    "It is not asked for, not confirmed and not logged.",
    "Write it as `torque` or `stages` of the fastener.",
)
NO_UNIT = advice(
    "torque-without-unit",
    "A torque is said without its unit.",
    "Twenty five may be foot pounds to whoever hears it.",
    "Write N·m behind it.",
)
UNIT = Rule(
    "torque-in-another-unit",
    "A torque is said in another unit than newton metres.",
    "The wrench is set to the number and not to the torque.",
    "Write it in N·m, as the field has it.",
)
ANGLE = Rule(
    "angle-said",
    "Another angle is said than the stages have.",
    "The bolt is turned too far or not far enough.",
    "Look it up, and write the same in both.",
)
RATIOS = (
    (FOREIGN["lbf·ft"], "lbf·ft"),
    (FOREIGN["kgf·m"], "kgf·m"),
    (1 / FOREIGN["lbf·in"], "lbf·in"),
    (10.0, "a figure ten times as great"),
    (100.0, "a figure a hundred times as great"),
)
_BARE = re.compile(r"\b(?:to|at|with|first|then) $")
_OFF = (Act.REMOVE, Act.DISCONNECT)


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's torques, and those of the follow-ups."""
    for position, step in enumerate(procedure.steps):
        path: Path = ("steps", position)
        for field, text in (("say", step.say), ("more", step.more or "")):
            yield from _said((*path, field), step, text)
    for place, follow_up in enumerate(procedure.follow_ups):
        yield from _later(procedure, ("follow_ups", place, "what"), follow_up.what)


def ratio(one: float, other: float) -> str:
    """What a wrong figure may have come from: a clause, or nothing."""
    if not one or not other:
        return ""
    quotient = max(one, other) / min(one, other)
    for factor, unit in RATIOS:
        if abs(quotient - factor) <= 0.02 * factor:
            return f"; the one is the other in {unit}" if "figure" not in unit else f"; one is {unit}"
    return ""


def torques(fasteners: tuple[Fastener, ...]) -> list[float]:
    """N·m of every stage."""
    return [stage.newton_metres for f in fasteners for stage in f.tightening if isinstance(stage, Torque)]


def _said(path: Path, step: Step, text: str) -> Iterator[Fault]:
    kept = torques(step.fasteners)
    angles = [s.degrees for f in step.fasteners for s in f.tightening if isinstance(s, Angle)]
    for said in quantities(text):
        if said.unit in FOREIGN:
            value = said.value * FOREIGN[said.unit]
            yield UNIT.at(path, f"'{said.shown}' is not in N·m; write '{value:.1f} N·m'")
        elif said.unit == "N·m":
            yield from _torque(path, step, said, kept)
        elif said.unit == "°" and angles and said.value not in angles:
            shown = ", ".join(f"{angle:g}°" for angle in angles)
            yield ANGLE.at(path, f"'{said.shown}' is said, and the stages have {shown}; one is wrong")
        elif not said.unit and kept and not said.following and _BARE.search(said.before):
            yield from _bare(path, step, said, kept)


def _torque(path: Path, step: Step, said: Quantity, kept: list[float]) -> Iterator[Fault]:
    own = [fastener for fastener in step.fasteners if _speaks_of(said, fastener, step.fasteners)]
    wanted = torques(tuple(own)) if own else kept
    if any(same(said.value, one) for one in wanted) or _is_a_range(said, kept):
        return
    if wanted:
        shown = ", ".join(f"{one:g}" for one in wanted)
        of = f" of the {own[0].what}" if own else ""
        came_from = next((words for one in wanted if (words := ratio(said.value, one))), "")
        message = (
            f"'{said.shown}' is said, and the torque{of} is {shown} N·m{came_from}; look up which is right"
        )
        yield SAID.at(path, message)
    elif path[-1] == "say" or step.act not in _OFF:
        message = f"'{said.shown}' is said and no fastener of this step has it; write it as `torque`"
        yield UNKEPT.at(path, message)


def _bare(path: Path, step: Step, said: Quantity, kept: list[float]) -> Iterator[Fault]:
    if any(same(said.value, one) for one in kept):
        yield NO_UNIT.at(path, f"'{said.shown}' is said without its unit; write '{said.shown} N·m'")
    else:
        shown = ", ".join(f"{one:g}" for one in kept)
        message = f"'{said.shown}' is said, and the torque is {shown} N·m; look up which is right"
        yield SAID.at(path, message)


def _is_a_range(said: Quantity, kept: list[float]) -> bool:
    """Is it an end of a wrench's range, as in "the wrench from 20 to 100 N·m"?"""
    return "wrench" in said.sentence and not any(same(said.value, one) for one in kept)


def _speaks_of(said: Quantity, fastener: Fastener, others: tuple[Fastener, ...]) -> bool:
    """Does the text before the torque name this fastener last?"""
    if len(others) < 2:
        return False
    before = re.sub(r"_+|\d", " ", said.text[: said.start].lower())
    ends = {id(other): before.rfind(head(other.what)) for other in others}
    heads = [head(other.what) for other in others]
    if len(set(heads)) < len(heads):
        return False
    last = max(ends.values())
    return last >= 0 and ends[id(fastener)] == last


def _later(procedure: Procedure, path: Path, what: str) -> Iterator[Fault]:
    for said in quantities(what):
        if said.unit != "N·m":
            continue
        named = [f for s in procedure.steps for f in s.fasteners if f.what.lower() in what.lower()]
        wanted = torques(tuple(named))
        if wanted and not any(same(said.value, one) for one in wanted):
            message = (
                f"'{said.shown}' is said, and the {named[0].what} are tightened to {max(wanted):g} N·m"
                f"{ratio(said.value, max(wanted))}; look up which is right"
            )
            yield SAID.at(path, message)
