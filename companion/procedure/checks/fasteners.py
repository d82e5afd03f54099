"""Drive sizes that exist, torques that a thread can bear."""

from collections.abc import Iterator

from companion.procedure.fault import Fault, Path
from companion.procedure.hexes import (
    KNOWN_HEX,
    KNOWN_SIX_LOBE,
    KNOWN_SOCKET_HEX,
    hex_for,
    nominal_diameter,
)
from companion.procedure.model import Act, Fastener, Procedure
from companion.procedure.order import Order
from companion.procedure.rules import bolts as rules
from companion.procedure.units import Angle, Torque

DRIVES: tuple[tuple[str, frozenset[float] | frozenset[str]], ...] = (
    ("hex", KNOWN_HEX),
    ("socket_hex", KNOWN_SOCKET_HEX),
    ("six_lobe", KNOWN_SIX_LOBE),
)
BEARS_AT_MOST = {5.0: 9.5, 6.0: 16.5, 8.0: 40.1, 10.0: 79.2, 12.0: 136.7, 14.0: 218.4}
"""N·m by mm of thread: VDI 2230 method, class 10.9, friction 0.14, coarse thread."""
TIGHT_AT_LEAST = {5.0: 5.8, 6.0: 10.1, 8.0: 24.6, 10.0: 48.5, 12.0: 83.6, 14.0: 133.6}
"""N·m by mm of thread: VDI 2230 method, class 8.8, friction 0.12, coarse thread."""
SLACK_SHARE = 0.15
"""Below this share of the class 8.8 torque a figure looks like a slip; common practice, no source."""


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
                if size is not None and size not in known:
                    yield rules.NO_SUCH_SIZE.at(
                        (*path, field), f"no {field} {_size(size)} is known; {_nearest(size, known)}"
                    )
            if fastener.torque and fastener.stages:
                yield rules.TORQUE_AND_STAGES.at(
                    (*path, "stages"), "`torque` and `stages` are both given; keep one"
                )
            if step.act is Act.TIGHTEN and not fastener.tightening:
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
    usual = [size.millimetres for size in hex_for(fastener.thread or "")]
    if fastener.hex is not None and usual and fastener.hex not in usual:
        sizes = ", ".join(f"{size:g}" for size in sorted(usual))
        message = f"{fastener.hex:g} mm is odd on {fastener.thread}, which has {sizes} mm; check it"
        yield rules.ODD_HEAD.at((*path, "hex"), message)


def _odd_torque(path: Path, fastener: Fastener) -> Iterator[Fault]:
    diameter = nominal_diameter(fastener.thread or "")
    if diameter not in BEARS_AT_MOST or not fastener.tightening:
        return
    field = "stages" if fastener.stages else "torque"
    torques = [stage for stage in fastener.tightening if isinstance(stage, Torque)]
    if not torques:
        return
    greatest, most = max(torques), BEARS_AT_MOST[diameter]
    if greatest.newton_metres > most:
        message = f"{greatest} is more than a class 10.9 {fastener.thread} bears ({most:g} N·m); check it"
        yield rules.TOO_TIGHT.at((*path, field), message)
    least = SLACK_SHARE * TIGHT_AT_LEAST[diameter]
    turned_on = any(isinstance(stage, Angle) for stage in fastener.tightening)
    if greatest.newton_metres < least and not turned_on:
        message = f"{greatest} is hardly tight for {fastener.thread} (below {least:.1f} N·m); check it"
        yield rules.TOO_SLACK.at((*path, field), message)


def _size(size: float | str) -> str:
    return size if isinstance(size, str) else f"{size:g} mm"


def _nearest(size: float | str, known: frozenset[float] | frozenset[str]) -> str:
    def distance(other: float | str) -> float:
        if isinstance(size, str) or isinstance(other, str):
            same_kind = str(size)[0] == str(other)[0]
            return abs(float(str(size)[1:]) - float(str(other)[1:])) + (0 if same_kind else 1000)
        return abs(size - other)

    return f"nearest is {_size(min(known, key=distance))}"
