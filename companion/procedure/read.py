"""Reading a procedure file: YAML 1.2 in, a checked procedure out, or every fault with its place."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from companion.errors import ProcedureError
from companion.harmless import one_line
from companion.procedure.check import find_all, find_faults
from companion.procedure.fault import Fault, Rule, Severity
from companion.procedure.model import Procedure
from companion.procedure.reading.explain import explain
from companion.procedure.reading.lenient import as_far_as_read
from companion.procedure.reading.source import Source, SourceError, parse
from companion.procedure.rules.file import UNREADABLE

LARGEST = 1_000_000
"""Bytes; a procedure of 45 steps has about 25,000."""


@dataclass(frozen=True)
class Finding:
    """One thing that is wrong or odd, with its place in the file."""

    file: Path
    line: int
    column: int
    label: str
    """Where in the procedure: "step 'drain-oil', fasteners 2, torque"; empty for the file itself."""
    message: str
    rule: Rule

    @property
    def grave(self) -> bool:
        """May no job be begun with it?"""
        return self.rule.severity is Severity.ERROR

    def __str__(self) -> str:
        label = f"{self.label}: " if self.label else ""
        return one_line(f"{self.file}:{self.line}:{self.column}: {label}{self.message}")


@dataclass(frozen=True)
class Reading:
    """What a file says, as far as it can be read, and all that is wrong or odd in it."""

    procedure: Procedure | None
    """None when it could not be read at all, or not put in order."""
    findings: tuple[Finding, ...]
    """In the order of the file."""
    source: Source = field(default_factory=Source, repr=False, compare=False)

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What may hurt someone or bury something."""
        return tuple(one for one in self.findings if one.grave)

    @property
    def advice(self) -> tuple[Finding, ...]:
        """What looks odd and may be right."""
        return tuple(one for one in self.findings if not one.grave)

    def finding(self, file: Path, fault: Fault) -> Finding:
        """A fault that was found elsewhere, with its place in this file."""
        return _placed(file, self.source, fault)


def examine(path: Path) -> Reading:
    """Everything that is wrong or odd in a file, in one go. Faults of the file itself are findings too."""
    try:
        content = _load(path)
    except ProcedureError as error:
        message = error.faults[0].removeprefix(f"{one_line(str(path))}:1:1: ")
        return Reading(None, (Finding(path, 1, 1, "", message, UNREADABLE),))
    return examine_bytes(content, path)


def examine_bytes(content: bytes, path: Path) -> Reading:
    """The same of bytes that are at hand; `path` only names them."""
    try:
        source = _parsed(content)
    except SourceError as fault:
        return Reading(None, (Finding(path, fault.line, fault.column, "", fault.message, UNREADABLE),))
    read = as_far_as_read(source.data)
    found = [*source.faults, *read.faults]
    if read.procedure:
        found += [fault for fault in find_all(read.procedure) if fault not in found and read.sure(fault)]
    placed = sorted((_placed(path, source, fault) for fault in found), key=lambda one: (one.line, one.column))
    return Reading(read.procedure, tuple(dict.fromkeys(placed)), source)


def read_procedure(path: Path) -> Procedure:
    """The procedure in a file.

    Raises:
        ProcedureError: the file cannot be read or the procedure is faulty; `.faults` has a line each.
    """
    return read_with_advice(path)[0]


def read_with_advice(path: Path) -> tuple[Procedure, tuple[Finding, ...]]:
    """The procedure in a file, with what looks odd in it.

    Raises:
        ProcedureError: as `read_procedure`.
    """
    reading = examine(path)
    if reading.errors or reading.procedure is None:
        raise ProcedureError(*map(str, reading.errors))
    return reading.procedure, reading.advice


def read_kept_procedure(path: Path) -> Procedure:
    """The procedure that a job was begun with; nothing is asked of it that was not asked then.

    Raises:
        ProcedureError: as `read_procedure`.
    """
    return procedure_from_bytes(_load(path), path)


def procedure_from_bytes(content: bytes, path: Path) -> Procedure:
    """The procedure in bytes kept elsewhere, such as beside a log; `path` only names them in messages.

    Raises:
        ProcedureError: as `read_procedure`.
    """
    source = _usable(content, path)
    try:
        procedure = Procedure.from_data(source.data)
    except ValidationError as error:
        raise ProcedureError(*_lines(path, source, [*source.faults, *explain(error, source.data)])) from None
    faults = (*source.faults, *find_faults(procedure, kept=True))
    if faults:
        raise ProcedureError(*_lines(path, source, faults))
    return procedure


def read_list(path: Path) -> list[Any]:
    """What a file lists, read with the same care as a procedure.

    Raises:
        ProcedureError: the file cannot be read, or is no list of plain YAML.
    """
    source = _usable(_load(path), path, a_list=True)
    if source.faults:
        raise ProcedureError(*_lines(path, source, source.faults))
    return list(source.data)


def _load(path: Path) -> bytes:
    try:
        if not path.exists():
            raise ProcedureError(f"{path}:1:1: there is no such file; check the name of the procedure")
        if path.is_dir():
            raise ProcedureError(f"{path}:1:1: is a folder; name a .yaml file in it")
        if not path.is_file():
            raise ProcedureError(f"{path}:1:1: is not a plain file; name a .yaml file")
        with path.open("rb") as file:
            return file.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = (error.strerror or str(error)) if isinstance(error, OSError) else str(error)
        message = f"{path}:1:1: cannot be read ({reason}); check the name and its permissions"
        raise ProcedureError(one_line(message)) from error


def _usable(content: bytes, path: Path, *, a_list: bool = False) -> Source:
    try:
        return _parsed(content, a_list=a_list)
    except SourceError as fault:
        raise ProcedureError(one_line(f"{path}:{fault.line}:{fault.column}: {fault.message}")) from fault


def _parsed(content: bytes, *, a_list: bool = False) -> Source:
    if len(content) > LARGEST:
        message = f"is larger than {LARGEST // 1000} kB; a procedure is far smaller, name another file"
        raise SourceError(1, 1, message)
    return parse(content, a_list=a_list)


def _placed(path: Path, source: Source, fault: Fault) -> Finding:
    line, column = source.place(fault.path)
    return Finding(path, line, column, source.label(fault.path), one_line(fault.message), fault.rule)


def _lines(path: Path, source: Source, faults: Iterable[Fault]) -> list[str]:
    """One line for each fault, in the order of the file."""
    placed = sorted(
        (_placed(path, source, fault) for fault in faults), key=lambda one: (one.line, one.column)
    )
    return [*dict.fromkeys(map(str, placed))]
