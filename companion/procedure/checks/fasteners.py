"""Drive sizes that exist, torques that a thread can bear."""

import re
from collections.abc import Iterator

from companion.procedure.checks.review_marks import asked
from companion.procedure.fasteners.fields import MATERIALS_THAT_BEAR
from companion.procedure.fasteners.heads import KNOWN_HEX, KNOWN_SIX_LOBE, KNOWN_SOCKET_HEX, hex_for
from companion.procedure.fasteners.sizes import Size
from companion.procedure.fasteners.strength import strength_of, torque
from companion.procedure.fasteners.threads import Thread, parse_thread
from companion.procedure.fault import Fault, Path
from companion.procedure.model import Act, Asked, Fastener, Procedure
from companion.procedure.order import Order
from companion.procedure.rules import bolts as rules
from companion.procedure.units import Angle, Torque

DRIVES: tuple[tuple[str, frozenset[Size] | frozenset[str]], ...] = (
    ("hex", KNOWN_HEX),
    ("socket_hex", KNOWN_SOCKET_HEX),
    ("six_lobe", KNOWN_SIX_LOBE),
    ("driver", frozenset()),
)
"""Each with the sizes that tools have; a driver is known by its name already."""
STRONGEST, USUAL = "10.9", "8.8"
"""The classes that a torque is held against where the file gives none."""
THICKEST = 14.0
"""mm; thicker ones are mostly plugs, sensors and hub nuts, which are no bolts."""
MOST_OF_PLUGS = 0.6
"""Plugs, unions and sensors are tightened to far less than a bolt bears; common practice, no source."""
SLACK_SHARE, SLACK_SHARE_OF_PLUGS = 0.15, 0.05
"""Below this share of the class 8.8 torque a figure looks like a slip; common practice, no source."""
NO_BOLT = re.compile(
    r"\b(?:bleed screws?|hollow bolts?|banjo bolts?|pipe nuts?"
    r"|(?:plugs?|unions?|nipples?|sensors?|switch(?:es)?|filters?|injectors?|taps?|valves?|caps?|fittings?)"
    r"(?! (?:\w+ )?(?:bolts?|screws?|nuts?|studs?)\b))\b",
    re.IGNORECASE,
)
"""What seals or measures and does not clamp: heads and torques are its own."""


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Two drives at once, sizes that no tool has, and tightening without a torque."""
    for position, step in enumerate(procedure.steps):
        for place, fastener in enumerate(step.fasteners):
            path = ("steps", position, "fasteners", place)
            stated = [field for field, _ in DRIVES if getattr(fastener, field) is not None]
            if len(stated) > 1:
                yield rules.TWO_DRIVES.at(
                    (*path, stated[1]), f"`{stated[0]}` and `{stated[1]}` are both given; keep one drive"
                )
            for field, known in DRIVES:
                size = getattr(fastener, field)
                if known and size is not None and size not in known:
                    yield rules.NO_SUCH_SIZE.at(
                        (*path, field), f"no {field} {_size(size)} is known; {_nearest(size, known)}"
                    )
            if fastener.torque and fastener.stages:
                yield rules.TORQUE_AND_STAGES.at(
                    (*path, "stages"), "`torque` and `stages` are both given; keep one"
                )
            known_missing = asked(step.review, Asked.TORQUE)
            if step.act is Act.TIGHTEN and not fastener.tightening and not known_missing:
                yield rules.NO_TORQUE.at(
                    path, "is tightened without a `torque` or `stages`; write it like '25 N·m'"
                )


def look(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Hexagons and torques that are odd for the thread they are on."""
    for position, step in enumerate(procedure.steps):
        for place, fastener in enumerate(step.fasteners):
            if fastener.thread:
                path = ("steps", position, "fasteners", place)
                yield from _odd_hex(path, fastener)
                yield from _odd_torque(path, fastener)


def _odd_hex(path: Path, fastener: Fastener) -> Iterator[Fault]:
    usual = [head.size for head in hex_for(fastener.thread or "") if isinstance(head.size, Size)]
    if NO_BOLT.search(fastener.what):
        return
    if fastener.hex is not None and usual and fastener.hex not in usual:
        inch = usual[0].inch is not None
        sizes = ", ".join(size.inch or f"{size:g}" for size in sorted(usual)) + (" in" if inch else " mm")
        message = f"{fastener.hex} is odd on {fastener.thread}, which has {sizes}; check it"
        yield rules.ODD_HEAD.at((*path, "hex"), message)


def _odd_torque(path: Path, fastener: Fastener) -> Iterator[Fault]:
    thread = parse_thread(fastener.thread or "")
    if not (thread.bears and thread.standard and fastener.tightening):
        return
    if fastener.material not in (None, *MATERIALS_THAT_BEAR):
        return
    field = "stages" if fastener.stages else "torque"
    torques = [stage for stage in fastener.tightening if isinstance(stage, Torque)]
    if not torques:
        return
    plug = bool(NO_BOLT.search(fastener.what))
    greatest, most = max(torques), bears_at_most(thread, fastener.class_) * (MOST_OF_PLUGS if plug else 1.0)
    if greatest.newton_metres > most:
        of = fastener.class_ or STRONGEST
        message = f"{greatest} is more than a class {of} {thread.text} bears ({most:.1f} N·m); check it"
        yield rules.TOO_TIGHT.at((*path, field), message)
    if thread.diameter > THICKEST:
        return
    share = SLACK_SHARE_OF_PLUGS if plug else SLACK_SHARE
    least = share * torque(thread, strength_of(USUAL, thread), 0.12).newton_metres
    turned_on = any(isinstance(stage, Angle) for stage in fastener.tightening)
    if greatest.newton_metres < least and not turned_on:
        message = f"{greatest} is hardly tight for {fastener.thread} (below {least:.1f} N·m); check it"
        yield rules.TOO_SLACK.at((*path, field), message)


def bears_at_most(thread: Thread, class_: str | None) -> float:
    """N·m: by VDI 2230 at friction 0.14, of its class or of 10.9."""
    return torque(thread, strength_of(class_ or STRONGEST, thread), 0.14).newton_metres


def _size(size: Size | str) -> str:
    return str(size)


def _nearest(size: Size | str, known: frozenset[Size] | frozenset[str]) -> str:
    def distance(other: Size | str) -> float:
        if isinstance(size, str) or isinstance(other, str):
            same_kind = str(size)[0] == str(other)[0]
            return abs(float(str(size)[1:]) - float(str(other)[1:])) + (0 if same_kind else 1000)
        return abs(size - other)

    return f"nearest is {_size(min(known, key=distance))}"
