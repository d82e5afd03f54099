"""What the standards say of a thread, line by line."""

from collections.abc import Iterator

from companion.procedure.fasteners.convert import newton_metres, pound_feet
from companion.procedure.fasteners.heads import hex_for, six_lobe_for, socket_hex_for
from companion.procedure.fasteners.sequence import Layout
from companion.procedure.fasteners.strength import (
    EDITION,
    FRICTION,
    Strength,
    edition_of,
    force_at,
    nut_factor,
    preload,
    proof_load,
    strength_of,
    stress_area,
    torque,
)
from companion.procedure.fasteners.threads import Thread, thread_as_written
from companion.procedure.units import Torque

RULES = "These are general figures: the value of the vehicle maker rules."


def lines(
    text: str, name: str, friction: float | None, tightened: str | None, pattern: str | None
) -> Iterator[str]:
    """Size, heads, strength, torque and order, each with its source.

    Raises:
        ValueError: the thread, the class, the torque or the pattern is not known.
    """
    thread = thread_as_written(text)
    yield _size(thread)
    yield from _heads(thread)
    if thread.bears and thread.pitch:
        strength = strength_of(name, thread)
        yield from _strength(thread, strength, (friction,) if friction else FRICTION)
        if tightened:
            yield _judged(thread, strength, _torque(tightened), friction or FRICTION[0])
    elif not thread.bears:
        yield "A pipe thread seals and holds no joint together; its torque is for its maker to say."
    if pattern:
        yield f"Order round a {pattern}: {Layout.parse(pattern).sequence}. Common practice, no source."
    yield RULES


def _size(thread: Thread) -> str:
    pitches = ", ".join(f"{pitch:.4g}" for pitch in thread.usual_pitches)
    pitch = f", pitch {thread.pitch:.4g} mm" if thread.pitch else ""
    known = f"{thread.source}, whose pitches are {pitches} mm" if pitches else thread.source
    none = "" if thread.standard else "not a size of "
    return f"{thread.text}: {thread.diameter:.4g} mm outside{pitch}; {none}{known}."


def _heads(thread: Thread) -> Iterator[str]:
    for what, heads in (
        ("Hexagon", hex_for(thread.text)),
        ("Socket hexagon", socket_hex_for(thread.text)),
        ("Six-lobe", six_lobe_for(thread.text)),
    ):
        by_source: dict[str, list[str]] = {}
        for head in heads:
            by_source.setdefault(head.source, []).append(str(head.size))
        if heads:
            told = "; ".join(f"{', '.join(sizes)} ({source})" for source, sizes in by_source.items())
            yield f"{what}: {told}."


def _strength(thread: Thread, strength: Strength, frictions: tuple[float, ...]) -> Iterator[str]:
    area, load = stress_area(thread), proof_load(thread, strength)
    yield f"Stress area: {area:.1f} mm². Proof load of {strength.name}: {load:,.0f} N ({strength.source})."
    for friction in frictions:
        moment = torque(thread, strength, friction)
        force, factor = preload(thread, strength, friction), nut_factor(thread, strength, friction)
        yield (
            f"At friction {friction:g}: preload {force / 1000:.1f} kN, torque {moment.newton_metres:.1f} N·m "
            f"({pound_feet(moment.newton_metres):.1f} lbf·ft); K = {factor:.3f}. {EDITION}."
        )


def _torque(text: str) -> Torque:
    value = newton_metres(text)
    return Torque.parse(text) if value is None else Torque(value)


def _judged(thread: Thread, strength: Strength, tightened: Torque, friction: float) -> str:
    force = force_at(tightened, nut_factor(thread, strength, friction), thread)
    share = force / proof_load(thread, strength)
    edition = edition_of(tightened, thread, strength)
    out_of = f" It is the value of {edition}." if edition else ""
    over = " That is more than it bears." if share > 1 else ""
    told = f"{tightened.newton_metres:.1f} N·m at friction {friction:g} gives {force / 1000:.1f} kN, "
    return f"{told}{share:.0%} of the proof load.{over}{out_of}"
