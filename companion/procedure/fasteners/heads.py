"""Across-flats sizes and six-lobes: what each thread usually carries, and what a workshop has tools for.

The sizes are in `heads.toml`, each table with its source.
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

from companion.procedure.fasteners.sizes import Size
from companion.procedure.fasteners.threads import MM_IN_AN_INCH, inches, parse_thread
from companion.procedure.vocabulary.data_files import table


@dataclass(frozen=True)
class Head:
    """One size of head on a thread."""

    size: Size | str
    """mm across the flats, or a six-lobe such as "T30"."""
    source: str


def _heads() -> dict[str, Any]:
    return table("fasteners", "heads")


def _tools(field: str) -> frozenset[Size]:
    tools = _heads()["tools"]
    inch = (Size(inches(size) * MM_IN_AN_INCH, size) for size in tools[f"{field}_inch"])
    return frozenset([*map(Size, tools[field]), *inch])


KNOWN_HEX = _tools("hex")
"""Every outside hexagon that a workshop has a tool for."""
KNOWN_SOCKET_HEX = _tools("socket_hex")
KNOWN_SIX_LOBE: frozenset[str] = frozenset(_heads()["tools"]["six_lobe"])
"""T inside, E outside."""
KNOWN_DRIVERS: frozenset[str] = frozenset(_heads()["tools"]["driver"])
"""Every other driver."""


def hex_for(thread: str) -> tuple[Head, ...]:
    """Outside hexagons met on a thread, the current standard size first; empty if not known.

    >>> [float(head.size) for head in hex_for("M10")][:2]
    [16.0, 17.0]
    """
    return _for("hex", thread)


def socket_hex_for(thread: str) -> tuple[Head, ...]:
    """Inside hexagons met on a thread, that of the cap screw first; empty if not known."""
    return _for("socket_hex", thread)


def six_lobe_for(thread: str) -> tuple[Head, ...]:
    """Six-lobes met on a thread, that of the cap screw first; empty if not known."""
    return _for("six_lobe", thread)


@cache
def _for(field: str, text: str) -> tuple[Head, ...]:
    thread = parse_thread(text)
    if thread.family != "metric":
        written = text.partition("-")[0].partition(" UN")[0]
        sizes = _heads()["inch"]["hex"].get(written, ()) if thread.bears and field == "hex" else ()
        return tuple(Head(Size(inches(size) * MM_IN_AN_INCH, size), "ASME B18.2.1") for size in sizes)
    found = []
    for rows in _heads()[field].values():
        sizes = rows["sizes"].get(f"{thread.diameter:g}", ())
        for size in sizes if isinstance(sizes, list) else [sizes] if sizes else []:
            found.append(Head(size if isinstance(size, str) else Size(size), rows["source"]))
    return tuple(found)
