"""Torques in other units, by pint; it is loaded only when one is met.

NIST SP 811 has the factors: 1 lbf·ft is 1.3558179483314004 N·m, 1 kgf·m is 9.80665 N·m.
"""

import re
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

_UNITS = (
    (r"lbf?[·. -]?ft|ft[·. -]?lbf?s?", "pound_force * foot"),
    (r"lbf?[·. -]?in|in[·. -]?lbf?s?", "pound_force * inch"),
    (r"ozf?[·. -]?in|in[·. -]?ozf?", "ounce * standard_gravity * inch"),
    (r"kgf?[·. -]?m|m[·. -]?kgf?|kpm", "kilogram_force * meter"),
    (r"kgf?[·. -]?cm", "kilogram_force * centimeter"),
    (r"N[·. -]?cm", "newton * centimeter"),
    (r"dN[·. -]?m", "decinewton * meter"),
    (r"kN[·. -]?m", "kilonewton * meter"),
    (r"mN[·. -]?m", "millinewton * meter"),
)
_WAYS = "|".join(f"({way})" for way, _ in _UNITS)
_TORQUE = re.compile(rf"(?P<number>\d{{1,6}}(?:\.\d{{1,6}})?)\s*(?:{_WAYS})", re.IGNORECASE)


def newton_metres(text: str) -> float | None:
    """The N·m of a torque in another unit, such as "18 lbf·ft"; None when it is none."""
    match = _TORQUE.fullmatch(text.strip())
    if not match:
        return None
    unit = next(unit for (_, unit), found in zip(_UNITS, match.groups()[1:], strict=True) if found)
    return float(_units().Quantity(float(match["number"]), unit).to("newton * meter").magnitude)


def pound_feet(newton_metres: float) -> float:
    """The same in lbf·ft."""
    return float(_units().Quantity(newton_metres, "newton * meter").to("pound_force * foot").magnitude)


@cache
def _units() -> "pint.UnitRegistry[float]":
    import pint

    return pint.UnitRegistry()
