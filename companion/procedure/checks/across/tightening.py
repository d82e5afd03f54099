"""How fasteners are tightened: stages, angles, the order round, threads and inside drives."""

import re
from collections.abc import Iterator

from companion.procedure.checks.words.text import content
from companion.procedure.fasteners.heads import Head, six_lobe_for, socket_hex_for
from companion.procedure.fasteners.threads import parse_thread
from companion.procedure.fault import Fault, Path, Rule, advice
from companion.procedure.model import Act, Fastener, Procedure, Step
from companion.procedure.order import Order
from companion.procedure.rules.bolts import ODD_HEAD
from companion.procedure.units import Angle, Torque

FALL = Rule(
    "stages-fall",
    "A stage has a lower torque than the one before it.",
    "The wrench clicks at once, and the last stage does nothing.",
    "Write the stages in their order.",
)
ANGLE_ALONE = Rule(
    "angle-without-torque",
    "An angle has no snug torque before it.",
    "Where the turn starts from is left to chance.",
    "Write the snug torque of the source before the angle.",
)
TOO_FAR = Rule(
    "angle-too-far",
    "An angle is more than a full turn.",
    "The bolt is torn off.",
    "Look it up: 90 was perhaps meant.",
)
NO_SUCH_PITCH = Rule(
    "no-such-pitch",
    "No thread of this diameter has this pitch.",
    "It is a slip of the pen, or a thread that was measured wrong.",
    "Measure it; ISO 261 and ISO 262 list the pitches.",
)
UNKEPT = advice(
    "sequence-in-words-alone",
    "An order of tightening is said and no field has it.",
    "It is not told again when it is asked for.",
    "Write it as `sequence`.",
)
SEQUENCE = Rule(
    "sequence-said",
    "Another order of tightening is said than the field has.",
    "The joint is drawn down askew.",
    "Write the same in both.",
)
AT_REMOVAL = advice(
    "torque-at-removal",
    "A step that takes fasteners out has a torque for them.",
    "Perhaps it belongs to the step that puts them back.",
    "Move it there; the companion asks for it only where it is tightened.",
)
INWARDS = advice(
    "tightened-inwards",
    "A joint is tightened from its ends inwards, or slackened from its middle outwards.",
    "It is drawn down over a bulge, and leaks or warps.",
    "Tighten from the middle outwards and slacken from the ends inwards, unless the source says otherwise.",
)
MOST_DEGREES = 360
_ORDERS = re.compile(
    r"\b(crosswise|cross|clockwise|diagonal\w*|star|in a spiral"
    r"|from the (?:middle|centre|ends|outside|inside) (?:outwards?|inwards?))\b",
    re.IGNORECASE,
)


_WAY = re.compile(r"\bfrom the (?:ends|outside|middle|centre) (in|out)wards?\b", re.IGNORECASE)


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each fastener of each step."""
    for position, step in enumerate(procedure.steps):
        for place, bolt in enumerate(step.fasteners):
            path: Path = ("steps", position, "fasteners", place)
            yield from _stages(path, bolt)
            yield from _thread(path, bolt)
            yield from _inside(path, bolt)
            yield from _way(path, step, bolt)
        yield from _sequence(("steps", position, "say"), step)


def _stages(path: Path, bolt: Fastener) -> Iterator[Fault]:
    highest, turned = 0.0, 0.0
    for place, stage in enumerate(bolt.stages):
        here = (*path, "stages", place)
        match stage:
            case Torque():
                if stage.newton_metres < highest:
                    yield FALL.at(
                        here, f"{stage} comes after {highest:g} N·m; write the stages in their order"
                    )
                highest = max(highest, stage.newton_metres)
            case Angle():
                turned += stage.degrees
                if not highest and turned == stage.degrees:
                    message = f"{stage} has no torque before it; write the snug torque of the source first"
                    yield ANGLE_ALONE.at(here, message)
                if turned > MOST_DEGREES:
                    yield TOO_FAR.at(here, f"{turned:g}° is more than a full turn; look it up")


def _thread(path: Path, bolt: Fastener) -> Iterator[Fault]:
    if not bolt.thread:
        return
    thread = parse_thread(bolt.thread)
    if not thread.standard and thread.usual_pitches:
        usual = ", ".join(f"{pitch:.4g}" for pitch in thread.usual_pitches)
        message = f"no {thread.text} is known; its pitches are {usual} mm ({thread.source}); measure it"
        yield NO_SUCH_PITCH.at((*path, "thread"), message)


def _inside(path: Path, bolt: Fastener) -> Iterator[Fault]:
    if not bolt.thread:
        return
    for field, known in (("socket_hex", socket_hex_for), ("six_lobe", six_lobe_for)):
        size = getattr(bolt, field)
        heads: tuple[Head, ...] = known(bolt.thread) if size is not None else ()
        if heads and size not in [head.size for head in heads]:
            usual = ", ".join(str(head.size) for head in heads)
            message = f"{size} is odd on {bolt.thread}, which has {usual}; check it"
            yield ODD_HEAD.at((*path, field), message)


def _way(path: Path, step: Step, bolt: Fastener) -> Iterator[Fault]:
    """Common practice, no source."""
    if bolt.tightening and step.act in (Act.REMOVE, Act.DISCONNECT, Act.DRAIN):
        yield AT_REMOVAL.at(
            path, f"the act is {step.act}, and the {bolt.what} have a torque; move it to the refit"
        )
    way = _WAY.search(bolt.sequence or "")
    if way and (way[1].lower() == "in") == bool(bolt.tightening):
        done = "tightened" if bolt.tightening else "slackened"
        yield INWARDS.at((*path, "sequence"), f"{done} '{bolt.sequence}'; look whether the source says so")


def _sequence(path: Path, step: Step) -> Iterator[Fault]:
    said = _ORDERS.search(step.say)
    bolts = [bolt for bolt in step.fasteners if bolt.count > 1]
    if not said or sum(bolt.count for bolt in bolts) < 3:
        return
    orders = [order for bolt in bolts if (order := bolt.order_round)]
    if len(orders) < len(bolts):
        message = f"'{said[0]}' is said, and no `sequence` has it; write it"
        yield UNKEPT.at(path, message)
    elif others := [order for order in orders if not content(said[0]) & content(order)]:
        yield SEQUENCE.at(path, f"'{said[0]}' is said, and `sequence` is '{others[0]}'; one is wrong")
