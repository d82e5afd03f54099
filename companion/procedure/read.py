"""Reading a procedure file: YAML 1.2 in, a checked procedure out, or every fault with its place."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from companion.errors import ProcedureError
from companion.harmless import one_line
from companion.procedure.check import find_advice, find_faults
from companion.procedure.fault import Fault
from companion.procedure.model import Procedure
from companion.procedure.reading.explain import explain
from companion.procedure.reading.source import Source, SourceError, parse

LARGEST = 1_000_000
"""Bytes; a procedure of 45 steps has about 25,000."""


@dataclass(frozen=True)
class Reading:
    """A procedure without faults, and what looks odd in it."""

    procedure: Procedure
    advice: tuple[str, ...]
    """Lines "file:line:column: what looks odd"."""


def read_procedure(path: Path) -> Procedure:
    """The procedure in a file.

    Raises:
        ProcedureError: the file cannot be read or the procedure is faulty; `.faults` has a line each.
    """
    return _checked(_source(path, _load(path)), path)[0]


def read_with_advice(path: Path) -> Reading:
    """The procedure in a file, with advice about what looks odd in it.

    Raises:
        ProcedureError: as `read_procedure`.
    """
    procedure, source = _checked(_source(path, _load(path)), path)
    return Reading(procedure, tuple(_lines(path, source, find_advice(procedure))))


def read_kept_procedure(path: Path) -> Procedure:
    """The procedure that a job was begun with; nothing is asked of it that was not asked then.

    Raises:
        ProcedureError: as `read_procedure`.
    """
    return _checked(_source(path, _load(path)), path, kept=True)[0]


def procedure_from_bytes(content: bytes, path: Path) -> Procedure:
    """The procedure in bytes kept elsewhere, such as beside a log; `path` only names them in messages.

    Raises:
        ProcedureError: as `read_procedure`.
    """
    return _checked(_source(path, content), path, kept=True)[0]


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


def _source(path: Path, content: bytes) -> Source:
    try:
        if len(content) > LARGEST:
            raise SourceError(
                1, 1, f"is larger than {LARGEST // 1000} kB; a procedure is far smaller, name another file"
            )
        return parse(content)
    except SourceError as fault:
        raise ProcedureError(one_line(f"{path}:{fault.line}:{fault.column}: {fault.message}")) from fault


def _checked(source: Source, path: Path, *, kept: bool = False) -> tuple[Procedure, Source]:
    try:
        procedure = Procedure.from_data(source.data)
    except ValidationError as error:
        raise ProcedureError(*_lines(path, source, [*source.faults, *explain(error, source.data)])) from None
    faults = (*source.faults, *find_faults(procedure, kept=kept))
    if faults:
        raise ProcedureError(*_lines(path, source, faults))
    return procedure, source


def _lines(path: Path, source: Source, faults: Iterable[Fault]) -> list[str]:
    """One line for each fault, in the order of the file."""
    placed = [(*source.place(fault.path), source.label(fault.path), fault.message) for fault in faults]
    unique = dict.fromkeys(sorted(placed, key=lambda one: one[:2]))
    return [
        one_line(f"{path}:{line}:{column}: {label}{': ' if label else ''}{message}")
        for line, column, label, message in unique
    ]
