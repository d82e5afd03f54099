"""How strong a bolt is, and what torque loads it how far.

Stress area and proof load: ISO 724, ISO 898-1. Preload and torque: VDI 2230 (2003 and later), which uses nine
tenths of the yield stress, thread and head at the same friction. The figures are in the `.toml` files.
"""

from dataclasses import dataclass
from math import pi, sqrt

from companion.procedure.fasteners.threads import Thread
from companion.procedure.fault import suggestion
from companion.procedure.units import Torque
from companion.procedure.vocabulary.data_files import table

UTILISATION = 0.9
"""The share of the yield stress that tightening may use; VDI 2230."""
FRICTION = (0.12, 0.14)
"""Lightly oiled steel, as the tables of VDI 2230 are mostly read."""
EDITION = "VDI 2230:2003"
_NEAR = 0.006
"""A published value is rounded by at most this share."""
_BEARING = 1.3
"""Bearing diameter of a head by that of its thread, where no table has it. Common practice, no source."""


@dataclass(frozen=True)
class Strength:
    """What a property class promises."""

    name: str
    source: str
    proof: float
    """MPa"""
    at_yield: float
    """MPa"""


def strength_of(name: str, thread: Thread) -> Strength:
    """A class such as "8.8", "A2-70" or "grade 5" at the size of a thread.

    Raises:
        ValueError: no such class; the message names the nearest.
    """
    classes = table("fasteners", "classes")
    if name not in classes:
        hint = suggestion(name, classes) or f"; known are {', '.join(classes)}"
        raise ValueError(f"class {repr(name)[:40]} is not known{hint}")
    row = classes[name]
    which = -1 if thread.diameter > row.get("thick", thread.diameter) else 0
    return Strength(name, row["source"], row["proof"][which], row["yield"][which])


def _flank(thread: Thread) -> float:
    """mm; where the flanks bear: d2 of ISO 724."""
    return thread.diameter - 0.649519 * _pitch(thread)


def _core(thread: Thread) -> float:
    """mm; d3 of ISO 898-1."""
    return thread.diameter - 1.226869 * _pitch(thread)


def _pitch(thread: Thread) -> float:
    if thread.pitch is None:
        raise ValueError(f"{thread.text} has no standard pitch; write it, like 'M12x1.5'")
    return thread.pitch


def stress_area(thread: Thread) -> float:
    """mm²: a circle of the mean of flank and core diameter (ISO 898-1); inch threads by ASME B1.1."""
    if thread.family != "metric":
        return pi / 4 * (thread.diameter - 0.9743 * _pitch(thread)) ** 2
    return pi / 4 * ((_flank(thread) + _core(thread)) / 2) ** 2


def proof_load(thread: Thread, strength: Strength) -> float:
    """N that the bolt bears without growing longer: as published, else worked out."""
    published = table("fasteners", "classes")[strength.name].get("loads", {}).get(thread.text)
    return float(published) if published else strength.proof * stress_area(thread)


def preload(thread: Thread, strength: Strength, friction: float) -> float:
    """N that tightening leaves in the bolt; what twists it cannot also pull it."""
    flank, mean = _flank(thread), (_flank(thread) + _core(thread)) / 2
    twist = 1.5 * flank / mean * (_pitch(thread) / (pi * flank) + 1.155 * friction)
    return UTILISATION * strength.at_yield * stress_area(thread) / sqrt(1 + 3 * twist**2)


def bearing(thread: Thread) -> float:
    """mm; the mean diameter at which the head rubs."""
    joints, size = table("fasteners", "joints"), f"{thread.diameter:g}"
    if thread.family == "metric" and size in joints["face"]:
        return float(joints["face"][size] + joints["hole"][size]) / 2
    return _BEARING * thread.diameter


def torque(thread: Thread, strength: Strength, friction: float) -> Torque:
    """The torque that gives that preload: along the thread, in the flanks, under the head."""
    arm = 0.16 * _pitch(thread) + 0.58 * _flank(thread) * friction + bearing(thread) / 2 * friction
    return Torque(preload(thread, strength, friction) * arm / 1000)


def nut_factor(thread: Thread, strength: Strength, friction: float) -> float:
    """K of T = K F d."""
    moment = torque(thread, strength, friction).newton_metres
    return moment / (preload(thread, strength, friction) * thread.diameter / 1000)


def force_at(tightened: Torque, factor: float, thread: Thread) -> float:
    """N that a torque gives: F = T / (K d)."""
    return tightened.newton_metres / (factor * thread.diameter / 1000)


def edition_of(tightened: Torque, thread: Thread, strength: Strength) -> str | None:
    """Which edition of VDI 2230 a torque is out of, with its friction; None when it is in none."""
    older = table("fasteners", "joints")["older"]
    value = older.get(strength.name, {}).get(thread.text)
    if value is not None and abs(tightened.newton_metres - value) <= _NEAR * value:
        return f"{older['edition']}, friction {older['friction']:g}"
    for friction in FRICTION:
        value = torque(thread, strength, friction).newton_metres
        if abs(tightened.newton_metres - value) <= max(_NEAR * value, 0.05):
            return f"{EDITION}, friction {friction:g}"
    return None
