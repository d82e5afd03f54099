"""A procedure read as far as it can be, so that one run tells what is wrong in form and in substance.

What the model refuses is reported, and then read as it was most likely meant: a misspelt key as its nearest,
a torque without a unit in newton metres. What cannot be guessed is left out. Nothing is worked from such a
reading. Things in which something was left out are named, for no more can be said of them.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from companion.procedure.checks import names
from companion.procedure.fault import Fault, Path, nearest
from companion.procedure.model import Procedure
from companion.procedure.reading.explain import explain, fields_at, within, words_of
from companion.procedure.reading.source import KEY, holds
from companion.procedure.rules.order import RING, SAME_ID, UNKNOWN_NAME

ROUNDS = 12
"""What is mended may show the next fault behind it; a file that needs more is past mending."""
STAND_INS: Mapping[str, Any] = {
    "act": "inspect",
    "book": "1 min",
    "kind": "part",
    "use": "inspect",
    "source": "battery",
    "signal": "NOTICE",
    "unit": "%",
    "full_cure": "24 h",
    "applies_to": ["unknown"],
}
"""What stands for a value that is missing or of no use, so that the rest can be read."""
_WRITE = re.compile(r"write (?:it like )?'([^']+)'(?: or '([^']+)')?")


@dataclass
class AsFarAsRead:
    """What could be read, and what was wrong."""

    procedure: Procedure | None = None
    faults: list[Fault] = field(default_factory=list)
    unsure: set[Path] = field(default_factory=set)
    """Steps and things in which something was left out."""

    def sure(self, fault: Fault) -> bool:
        """Is it about something that was read whole?"""
        return owner(fault.path) not in self.unsure


def owner(path: Path) -> Path:
    """The step or thing that a path is in."""
    return path[:2]


def as_far_as_read(data: Any) -> AsFarAsRead:
    """The procedure in the data, if anything of it can be read."""
    read = AsFarAsRead()
    data = _copied(data)
    for around in range(ROUNDS):
        try:
            read.procedure = Procedure.from_data(data)
        except ValidationError as error:
            if not around:
                read.faults += explain(error, data)
            if not isinstance(data, dict):
                return read
            _mend(data, error, read.unsure)
        else:
            wrong = [
                fault for fault in names.find(read.procedure) if fault.rule in (UNKNOWN_NAME, SAME_ID, RING)
            ]
            read.faults += [fault for fault in wrong if fault not in read.faults]
            if not wrong:
                return read
            if any(fault.rule is RING for fault in wrong) or not _rename(data, read.procedure, wrong, read):
                break
    read.procedure = None
    return read


def _mend(data: Any, error: ValidationError, unsure: set[Path]) -> None:
    gone: list[Path] = []
    for detail in error.errors(include_url=False):
        path = within(detail["loc"], data)
        meant = _meant(detail, path, data)
        if meant is None:
            unsure.add(owner(path))
            gone.append(path)
        elif meant is not KEY:
            put(data, path, meant)
    for path in sorted(gone, key=lambda one: [str(key).zfill(6) for key in one], reverse=True):
        _leave_out(data, path)


def _meant(detail: ErrorDetails, path: Path, data: Any) -> Any:
    """What was most likely meant; None when nobody can tell, `KEY` when it is mended already."""
    value, kind, name = detail["input"], detail["type"], path[-1] if path else ""
    if kind == "extra_forbidden" and isinstance(name, str):
        group = _at(data, path[:-1])
        near = nearest(name, [one for one in fields_at(path[:-1]) if one not in group])
        if near is None:
            return None
        group[near] = group.pop(name)
        return KEY
    if kind == "enum":
        return nearest(str(value), words_of(detail))
    if kind in ("string_type", "string_pattern_mismatch") and isinstance(value, int | float):
        return str(value)
    if kind == "tuple_type" and isinstance(value, str):
        return [value]
    if kind == "value_error" and (ways := _WRITE.search(str(detail.get("ctx", {}).get("error", "")))):
        like = "like" in ways[0]
        return None if like else ways[2] or ways[1]
    return None


def _leave_out(data: Any, path: Path) -> None:
    """Take it out, or put something in its place where there must be something."""
    if path[-1:] == (KEY,):
        path = path[:-1]
    if not path:
        return
    around, name = _at(data, path[:-1]), path[-1]
    if isinstance(around, list) and isinstance(name, int):
        if path[:-1] == ("steps",):
            around[name] = _step(name)
        elif holds(around, name):
            del around[name]
        return
    if not isinstance(around, dict):
        return
    was_there = around.pop(name, None) is not None
    model = fields_at(path[:-1])
    if name == "steps" and len(path) == 1:
        around[name] = [_step(0)]
    elif name == "id" and path[0] == "steps":
        around[name] = f"step-{path[1]}"
    elif isinstance(name, str) and name in model and (not was_there or name in STAND_INS or _is_needed(path)):
        around[name] = STAND_INS.get(name, "unknown")


def _is_needed(path: Path) -> bool:
    return path[-1] in fields_at(path[:-1], needed=True)


def _step(number: int) -> dict[str, Any]:
    return {"id": f"step-{number}", "act": "inspect", "say": "unknown", "book": "1 min"}


def _rename(data: Any, procedure: Procedure, wrong: list[Fault], read: AsFarAsRead) -> bool:
    """Names put right as they were meant, or taken out; False when nothing more could be done."""
    gone: list[Path] = []
    for fault in wrong:
        if not holds(_at(data, fault.path[:-1]), fault.path[-1]):
            return False
        if fault.rule is SAME_ID:
            position = fault.path[1]
            put(data, fault.path, f"{_at(data, fault.path)}-{position}")
        elif meant := names.meant(procedure, fault.path):
            put(data, fault.path, meant)
        else:
            read.unsure.add(owner(fault.path))
            gone.append(fault.path)
    for path in reversed(gone):
        _leave_out(data, path)
    return True


def _copied(data: Any) -> Any:
    if isinstance(data, dict):
        return {key: _copied(value) for key, value in data.items()}
    return [_copied(value) for value in data] if isinstance(data, list) else data


def put(data: Any, path: Path, value: Any) -> None:
    """Set what is at a path, if that is there."""
    around = _at(data, path[:-1])
    if holds(around, path[-1]) or isinstance(around, dict):
        around[path[-1]] = value


def _at(data: Any, path: Path) -> Any:
    for key in path:
        if not holds(data, key):
            return {}
        data = data[key]
    return data
