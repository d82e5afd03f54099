"""Every kind of slip, and what `check` says of the copies that it makes."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from companion.procedure.check import find_all
from companion.procedure.fault import Fault, Severity
from companion.procedure.reading.lenient import as_far_as_read
from companion.procedure.reading.source import parse
from companion.procedure.short import shorthand
from companion.procedure.short.steps import filled_in
from tests.procedure.slips import bench, bolts, energy, ledger, order, seals, torques, words
from tests.procedure.slips.kinds import KINDS, Data, Kind

TOPICS = (ledger, order, energy, bolts, torques, seals, words, bench)
FOLDERS = (Path(__file__).parents[3] / "procedures", Path(__file__).parents[1] / "trades")
LINES = {
    "items": shorthand.item,
    "energy": shorthand.energy,
    "parts": shorthand.bench_part,
    "seals": shorthand.seal,
}


@cache
def shipped() -> dict[str, Data]:
    """The correct procedures, as plain data: those that come along, and those of other trades."""
    return {path.stem: plain(path) for folder in FOLDERS for path in sorted(folder.glob("*.yaml"))}


def plain(path: Path) -> Data:
    """A file as plain data, with all that may be left out or written on one line written out."""
    data: Data = filled_in(parse(path.read_bytes()).data)
    for section, long in LINES.items():
        for id_, thing in data.get(section, {}).items():
            data[section][id_] = long(thing) if isinstance(thing, str) else thing
    for step in data["steps"]:
        bolts = shorthand.one_or_more(step.get("fasteners", []))
        step["fasteners"] = [shorthand.fastener(one) if isinstance(one, str) else one for one in bolts]
        if not step["fasteners"]:
            del step["fasteners"]
        if isinstance(step.get("measure"), str):
            step["measure"] = shorthand.measure(step["measure"])
        if "hazards" in step:
            told = shorthand.one_or_more(step["hazards"])
            step["hazards"] = [shorthand.hazard(one) if isinstance(one, str) else one for one in told]
    return data


def found_in(data: Any) -> list[Fault]:
    """All that is found, without the places in a file."""
    read = as_far_as_read(data)
    found = list(read.faults)
    if read.procedure:
        found += [fault for fault in find_all(read.procedure) if read.sure(fault)]
    return found


@dataclass
class Score:
    """How many copies of a kind were made, and how many were noticed."""

    kind: Kind
    made: int = 0
    caught: int = 0
    as_errors: int = 0
    missed: list[str] = field(default_factory=list)
    """The procedure and number of each copy that was not noticed as it should be."""


def copies(kind: Kind) -> Iterator[tuple[str, int, Data]]:
    """Each spoilt copy, with the name of the procedure and its number."""
    for name, data in shipped().items():
        for number, copy in enumerate(kind.copies(data)):
            yield name, number, copy


def score(kind: Kind, every: int = 1) -> Score:
    """What `check` finds in the copies of a kind, or in each so many-th."""
    result = Score(kind)
    for name, number, copy in copies(kind):
        if number % every:
            continue
        found = found_in(copy)
        errors = [fault for fault in found if fault.rule.severity is Severity.ERROR]
        result.made += 1
        result.caught += bool(found)
        result.as_errors += bool(errors)
        if not (errors if kind.hurts else found):
            result.missed.append(f"{name} {number}")
    return result


def all_kinds() -> list[Kind]:
    """Every kind; the modules above have added theirs."""
    return KINDS
