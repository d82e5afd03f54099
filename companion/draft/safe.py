"""How energy is made safe, proved and brought back: the rows of `energy.toml`."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from companion.draft.source_facts import known, lingers, presses


@dataclass(frozen=True)
class Source:
    """One source, ready to be written."""

    row: str
    id: str
    kind: str
    name: str
    isolate: str
    isolated: str
    prove: str
    restore: str
    restored: str
    minutes: tuple[int, int, int]
    """To isolate, prove and restore it."""
    proved: str | None = None
    reading: dict[str, Any] | None = None
    danger: dict[str, str] | None = None
    """What can hurt while it is made safe, and how not."""
    danger_back: dict[str, str] | None = None
    """What can hurt while it is brought back."""
    circuit: str | None = None
    lingers: bool = False
    presses: bool = False


@cache
def source_of(row: str) -> Source:
    """The source that an outline names. What nobody knows is as grave as the mains."""
    rows = tomllib.loads(files("companion.draft").joinpath("energy.toml").read_text("utf-8"))
    found = dict(rows.get(row, rows["mains"]))
    kinds: list[str] = found.pop("source")
    kind = next((kind for kind in kinds if known(kind)), "hydraulic")
    minutes = tuple(found.pop("minutes"))
    return Source(
        row,
        row.replace(" ", "-"),
        kind,
        minutes=minutes,
        lingers=lingers(kind),
        presses=presses(kind),
        **found,
    )
