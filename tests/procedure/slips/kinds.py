"""Kinds of slip: each takes a correct procedure as plain data and yields copies with one slip in them.

A kind yields only what fields, norms or words can tell: a copy that only the maker's manual could tell from a
correct one is no use here.
"""

from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

Data = dict[str, Any]
Spoil = Callable[..., object]


@dataclass(frozen=True)
class Kind:
    """One kind of slip."""

    name: str
    topic: str
    hurts: bool
    """May it hurt someone, or bury something? Then only an error will do."""
    held: bool
    """Was it written before the checks, and not looked at while they were built?"""
    copies: Callable[[Data], Iterator[Data]] = field(compare=False)


KINDS: list[Kind] = []


def _added(
    name: str, hurts: bool, held: bool, copies: Callable[[Data], Iterator[Data]], spoil: Spoil
) -> None:
    KINDS.append(Kind(name, spoil.__module__.rpartition(".")[2], hurts, held, copies))


def job_slip(name: str, *, hurts: bool = True, held: bool = False) -> Callable[[Spoil], Spoil]:
    """`spoil(job)` changes the job and returns something true when it did."""

    def add(spoil: Spoil) -> Spoil:
        def copies(data: Data) -> Iterator[Data]:
            copy = deepcopy(data)
            if spoil(copy):
                yield copy

        _added(name, hurts, held, copies, spoil)
        return spoil

    return add


def step_slip(name: str, *, hurts: bool = True, held: bool = False) -> Callable[[Spoil], Spoil]:
    """`spoil(job, step)`, tried on each step."""

    def add(spoil: Spoil) -> Spoil:
        def copies(data: Data) -> Iterator[Data]:
            for place in range(len(data["steps"])):
                copy = deepcopy(data)
                if spoil(copy, copy["steps"][place]):
                    yield copy

        _added(name, hurts, held, copies, spoil)
        return spoil

    return add


def bolt_slip(name: str, *, hurts: bool = True, held: bool = False) -> Callable[[Spoil], Spoil]:
    """`spoil(job, step, fastener)`, tried on each fastener that is written as keys."""

    def add(spoil: Spoil) -> Spoil:
        def copies(data: Data) -> Iterator[Data]:
            for place, step in enumerate(data["steps"]):
                for which, bolt in enumerate(bolts(step)):
                    copy = deepcopy(data)
                    if isinstance(bolt, dict) and spoil(
                        copy, copy["steps"][place], copy["steps"][place]["fasteners"][which]
                    ):
                        yield copy

        _added(name, hurts, held, copies, spoil)
        return spoil

    return add


def thing_slip(
    section: str, name: str, *, hurts: bool = True, held: bool = False
) -> Callable[[Spoil], Spoil]:
    """`spoil(job, id, thing)`, tried on each thing of a section."""

    def add(spoil: Spoil) -> Spoil:
        def copies(data: Data) -> Iterator[Data]:
            for id_ in data.get(section, {}):
                copy = deepcopy(data)
                if spoil(copy, id_, copy[section][id_]):
                    yield copy

        _added(name, hurts, held, copies, spoil)
        return spoil

    return add


def bolts(step: Data) -> list[Any]:
    """Its fasteners, if they are written as a list."""
    found = step.get("fasteners")
    return found if isinstance(found, list) else []


def steps_with(job: Data, key: str, name: str) -> list[Data]:
    """The steps that name a thing under a key."""
    return [step for step in job["steps"] if name in as_list(step.get(key))]


def as_list(value: Any) -> list[Any]:
    """A list of ids, or of the one."""
    return value if isinstance(value, list) else [] if value is None else [value]


def forget_item(job: Data, item: str) -> None:
    """Take an item out of the whole file, so that nothing points at it."""
    del job["items"][item]
    for step in job["steps"]:
        for key in ("opens", "closes", "leaves_open"):
            if item in as_list(step.get(key)):
                step[key] = [one for one in step[key] if one != item]
                if not step[key]:
                    del step[key]
    for other in job["items"].values():
        if item in other.get("reached_through", []):
            other["reached_through"].remove(item)
    for seal in job.get("seals", {}).values():
        if seal.get("joint") == item:
            del seal["joint"]


def source_of(job: Data, id_: Any) -> str:
    """The kind of energy that an id stands for; empty when it is none."""
    return str(job.get("energy", {}).get(id_, {}).get("source", ""))


def later(job: Data, step: Data) -> list[Data]:
    """The steps after this one in the file."""
    return job["steps"][job["steps"].index(step) + 1 :]


def number_of(torque: str) -> float:
    """Of "25 N·m"."""
    return float(torque.split(maxsplit=1)[0])


def written(value: float) -> str:
    """A torque of so many N·m, to a tenth."""
    return f"{round(value, 1):g} N·m"
