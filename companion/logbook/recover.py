"""Reading a log that may have been cut off in the middle of a line, losing nothing that was acknowledged.

An event is acknowledged only once its whole line is on the disk. So a last line without its newline, or
that is not JSON, was never acknowledged: it is set aside in `<job>.torn` and the caller is told. Whatever
else is wrong cannot come from a cut: it stops with a LogbookError and nothing is changed. A whole last line
that is JSON but no event we know is of that kind too: it may well have been acknowledged.
"""

import json
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from companion.errors import LogbookError
from companion.files import failures_named, read_log_bytes, sync_folder, write_all
from companion.job.facts.events import Record
from companion.logbook.job_names import torn_path
from companion.logbook.lines import as_object, damage, decode


@dataclass(frozen=True)
class Torn:
    """A last line that was cut off while it was being written."""

    line: int
    """From 1."""
    data: bytes
    """As found, with its newline if it has one."""


@dataclass(frozen=True)
class Examined:
    """What a log holds."""

    records: list[Record]
    good: int
    """Bytes of whole, good lines, from the start."""
    torn: Torn | None


@dataclass(frozen=True)
class Recovered:
    """What a log held when it was opened again."""

    records: list[Record]
    torn: Torn | None
    kept_in: Path | None
    """The file in which the torn line was set aside."""

    def warning(self) -> str | None:
        """What to show and say about it; None when nothing was torn."""
        if self.torn is None or self.kept_in is None:
            return None
        return (
            f"The last line of the log was cut off while it was being written. It is kept in "
            f"{self.kept_in.name}. Whatever came last was not acknowledged: check it, and say it again."
        )


def examine(data: bytes, path: Path) -> Examined:
    """Read the bytes of a log. `path` is for messages. LogbookError when it is damaged or too new."""
    lines = data.split(b"\n")
    unfinished = lines.pop()
    records: list[Record] = []
    good = 0
    for number, raw in enumerate(lines, start=1):
        where = f"{path}:{number}"
        fields = as_object(raw)
        if fields is None:
            if number == len(lines) and not unfinished:
                return Examined(records, good, Torn(number, raw + b"\n"))
            raise damage(where, "this line is not JSON")
        record = decode(fields, where)
        if record.seq != number:
            raise damage(where, f"event {number} should be here, not {record.seq}")
        records.append(record)
        good += len(raw) + 1
    return Examined(records, good, Torn(len(lines) + 1, unfinished) if unfinished else None)


def read_log(path: Path) -> Examined:
    """Read a log without changing it, whether or not a companion is at work on it.

    While one is, an unfinished last line may just be on its way.
    """
    return examine(read_log_bytes(path), path)


def recover(descriptor: int, path: Path, now: datetime) -> Recovered:
    """Read the log that is open, and locked, as `descriptor`; set a torn last line aside.

    LogbookError, with nothing changed, when it is damaged, too new, or holds no event at all.
    """
    with failures_named(path):
        examined = examine(read_all(descriptor), path)
        if not examined.records:
            raise LogbookError(f"{path}: no event was logged before it was cut off: start a new job")
        if examined.torn is None:
            return Recovered(examined.records, None, None)
        aside = torn_path(path)
        with failures_named(aside):
            _set_aside(examined.torn, aside, path, now)
        # Cut only once the line is safe elsewhere. A crash between the two keeps it twice.
        os.ftruncate(descriptor, examined.good)
        os.fsync(descriptor)
    return Recovered(examined.records, examined.torn, aside)


def read_all(descriptor: int) -> bytes:
    """The whole open file, wherever it stands."""
    parts = []
    offset = 0
    while part := os.pread(descriptor, 1 << 24, offset):
        parts.append(part)
        offset += len(part)
    return b"".join(parts)


def _set_aside(torn: Torn, aside: Path, log: Path, now: datetime) -> None:
    entry = {
        "found": now.isoformat().replace("+00:00", "Z"),
        "log": log.name,
        "line": torn.line,
        # Bytes that are no UTF-8 become lone surrogates, escaped as ASCII: nothing of them is lost.
        "data": torn.data.decode("utf-8", "surrogateescape"),
    }
    descriptor = os.open(aside, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o666)
    try:
        write_all(descriptor, json.dumps(entry).encode("ascii") + b"\n")
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    sync_folder(aside.parent)
