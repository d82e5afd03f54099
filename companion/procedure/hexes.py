"""Across-flats sizes of hexagons, and what each thread usually carries.

Sources, as marked on each size:
- ISO 272 / ISO 4014: M6 10, M8 13, M10 16, M12 18, M14 21 and the rest of the series; from memory.
- DIN 931 / DIN 933 (older): M10 17, M12 19, M14 22, M22 32; M7 11. From memory.
- ISO 4162 (flange bolts with a small head): from memory.
- Other heads met on vehicles: common practice, no source.
"""

from dataclasses import dataclass
from enum import StrEnum


class HexSource(StrEnum):
    """Where a size comes from."""

    ISO = "ISO 272 / ISO 4014"
    DIN = "DIN 931 / DIN 933, older"
    FLANGE = "ISO 4162 small flange head"
    COMMON = "common practice"


@dataclass(frozen=True)
class AcrossFlats:
    """One size of an outside hexagon on a thread."""

    millimetres: float
    source: HexSource


_ISO = {
    3.0: 5.5,
    4.0: 7.0,
    5.0: 8.0,
    6.0: 10.0,
    8.0: 13.0,
    10.0: 16.0,
    12.0: 18.0,
    14.0: 21.0,
    16.0: 24.0,
    18.0: 27.0,
    20.0: 30.0,
    22.0: 34.0,
    24.0: 36.0,
}
_DIN = {7.0: 11.0, 10.0: 17.0, 12.0: 19.0, 14.0: 22.0, 22.0: 32.0}
_FLANGE = {5.0: 7.0, 6.0: 8.0, 8.0: 10.0, 10.0: 13.0, 12.0: 15.0, 14.0: 18.0, 16.0: 21.0}
_COMMON: dict[float, tuple[float, ...]] = {
    6.0: (7.0, 9.0),
    8.0: (11.0, 12.0),
    10.0: (10.0, 11.0, 12.0, 14.0, 15.0, 19.0),
    12.0: (13.0, 14.0, 16.0, 17.0, 21.0),
    14.0: (17.0, 19.0, 24.0),
    16.0: (17.0, 19.0, 22.0),
    18.0: (19.0, 22.0, 24.0),
}
"""Bleed screws, pipe nuts, hose unions, small heads, plugs and wheel bolts."""

KNOWN_HEX = frozenset(
    [
        *_ISO.values(),
        *_DIN.values(),
        *_FLANGE.values(),
        *(size for sizes in _COMMON.values() for size in sizes),
    ]
)
"""Every outside hexagon above, mm."""
KNOWN_SOCKET_HEX = frozenset(
    [1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 17.0, 19.0, 22.0]
)
"""Inside hexagons, mm: ISO 4762 key sizes (from memory); 7 and 9 on brake guide pins (common practice)."""
KNOWN_SIX_LOBE = frozenset(
    [f"T{n}" for n in (5, 6, 7, 8, 9, 10, 15, 20, 25, 27, 30, 40, 45, 50, 55, 60, 70, 80, 90, 100)]
    + [f"E{n}" for n in (4, 5, 6, 7, 8, 10, 11, 12, 14, 16, 18, 20, 22, 24)]
)
"""Six-lobe sizes in common use: T inside, E outside. From memory."""


def nominal_diameter(thread: str) -> float:
    """mm, of a thread written like "M8" or "M12x1.5"."""
    return float(thread.removeprefix("M").partition("x")[0])


def hex_for(thread: str) -> tuple[AcrossFlats, ...]:
    """Across-flats sizes met on a metric thread, the current standard size first; empty if not known.

    >>> [size.millimetres for size in hex_for("M10")][:2]
    [16.0, 17.0]
    """
    diameter = nominal_diameter(thread)
    found = [
        AcrossFlats(table[diameter], source)
        for table, source in ((_ISO, HexSource.ISO), (_DIN, HexSource.DIN), (_FLANGE, HexSource.FLANGE))
        if diameter in table
    ]
    found += [AcrossFlats(size, HexSource.COMMON) for size in _COMMON.get(diameter, ())]
    return tuple(found)
