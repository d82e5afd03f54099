"""The log of one job: records are added at its end and stay.

`append` returns only when the lines are on the disk; nothing may be acknowledged aloud before.
"""

import os
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from companion.errors import LogbookError
from companion.files import check_log_file, failures_named, make_folder, sync_folder, write_all, write_whole
from companion.job.facts.events import Event, Record
from companion.job.facts.instant import Instant
from companion.logbook.clips import free_clip_name, wav_bytes
from companion.logbook.job_names import checked_name, log_path
from companion.logbook.lines import encode
from companion.logbook.lock import lock
from companion.logbook.recover import Recovered, examine, read_all, recover

if TYPE_CHECKING:
    from companion.speech.sound.samples import Clip


class Logbook(Protocol):
    """Where the records of one job are kept."""

    def append(self, records: Sequence[Record]) -> None:
        """Add records, durable when this returns.

        All or none of them are logged, unless the power fails meanwhile: then the first few may be.
        LogbookError when they cannot be written; what was logged before is untouched, and the same
        records may be tried again. ValueError when their numbers do not follow on.
        """
        ...

    def log(self, events: Sequence[Event], at: Instant) -> list[Record]:
        """Number the events, and append them as records of that moment; likewise durable."""
        ...

    def records(self) -> list[Record]:
        """Everything logged, from the start."""
        ...

    def keep_clip(self, name: str, clip: "Clip") -> str:
        """Keep speech beside the log, durable when this returns; the name of its WAV file is returned.

        A clip already kept is never replaced: a name used before is given a number.
        """
        ...

    def close(self) -> None:
        """Let go of the job. Closing twice is harmless; nothing can be logged afterwards."""
        ...


def _numbered(events: Sequence[Event], at: Instant, logged: int) -> list[Record]:
    return [
        Record(seq=number, at=at.wall, mono=at.mono, event=event)
        for number, event in enumerate(events, start=logged + 1)
    ]


def _lines(records: Sequence[Record], logged: int) -> bytes:
    for number, record in enumerate(records, start=logged + 1):
        if record.seq != number:
            raise ValueError(f"record {record.seq} does not follow: {number} should")
    return b"".join(encode(record) for record in records)


class FileLogbook:
    """A JSON Lines file per job, `<logs>/<job>.jsonl`, held by one process at a time."""

    def __init__(self, path: Path, descriptor: int, logged: int) -> None:
        """Use `create` or `resume`. `descriptor` is open for appending, locked, with `logged` records."""
        self._path = path
        self._descriptor: int | None = descriptor
        self._logged = logged
        self._size = os.fstat(descriptor).st_size
        self._broken = False

    @classmethod
    def create(cls, logs: Path, job: str) -> "FileLogbook":
        """Begin the log of a new job; the folder is made if it is not there.

        LogbookError when that job already has a log; JobInUseError when it is being worked on.
        """
        path = log_path(logs, job)
        with failures_named(path):
            make_folder(logs)
            descriptor = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o666)
            try:
                check_log_file(descriptor, path)
                lock(descriptor, job)
                if os.fstat(descriptor).st_size:
                    raise LogbookError(f"{path}: this job was already begun: go on with it by --resume")
                sync_folder(logs)
                return cls(path, descriptor, logged=0)
            except BaseException:
                os.close(descriptor)
                raise

    @classmethod
    def resume(cls, logs: Path, job: str, now: datetime) -> tuple["FileLogbook", Recovered]:
        """Open the log of a job again. What it held is returned; a torn last line has been set aside.

        `now` (UTC) is noted beside the torn line. LogbookError when there is no such job or its log is
        damaged or too new (nothing is changed); JobInUseError when it is being worked on.
        """
        path = log_path(logs, job)
        with failures_named(path):
            if not os.path.lexists(path):
                raise LogbookError(f"{path}: there is no such job: `companion jobs` lists those there are")
            descriptor = os.open(path, os.O_RDWR | os.O_APPEND)
            try:
                check_log_file(descriptor, path)
                lock(descriptor, job)
                recovered = recover(descriptor, path, now)
                return cls(path, descriptor, logged=len(recovered.records)), recovered
            except BaseException:
                os.close(descriptor)
                raise

    @property
    def path(self) -> Path:
        return self._path

    def append(self, records: Sequence[Record]) -> None:
        descriptor = self._open()
        data = _lines(records, self._logged)
        if not data:
            return
        with failures_named(self._path):
            self._check_untouched(descriptor)
            try:
                write_all(descriptor, data)
                os.fsync(descriptor)
            except BaseException:
                self._roll_back(descriptor)
                raise
        self._size += len(data)
        self._logged += len(records)

    def log(self, events: Sequence[Event], at: Instant) -> list[Record]:
        records = _numbered(events, at, self._logged)
        self.append(records)
        return records

    def records(self) -> list[Record]:
        with failures_named(self._path):
            return examine(read_all(self._open())[: self._size], self._path).records

    def keep_clip(self, name: str, clip: "Clip") -> str:
        self._open()
        folder = self._path.parent
        file = free_clip_name(self._path.stem, name, lambda name: (folder / name).exists())
        with failures_named(folder / file):
            write_whole(folder / file, wav_bytes(clip))
        return file

    def close(self) -> None:
        if self._descriptor is not None:
            if not self._logged and not self._size:
                # The start failed: a log without an event would stand in the way of every list.
                self._path.unlink(missing_ok=True)
            os.close(self._descriptor)
            self._descriptor = None

    def _open(self) -> int:
        if self._descriptor is None:
            raise LogbookError.at(self._path, "this log was closed", "open the job again by --resume")
        if self._broken:
            raise LogbookError.at(
                self._path,
                "the end of the log could not be put right after a failure",
                "mend the disk, then start the companion again with --resume",
            )
        return self._descriptor

    def _check_untouched(self, descriptor: int) -> None:
        """What is not found by its name, or what something else writes into, nobody could go on from."""
        status = os.fstat(descriptor)
        try:
            there = os.path.samestat(status, os.stat(self._path))
        except FileNotFoundError:
            there = False
        if not there:
            raise LogbookError.at(self._path, "the log was removed or replaced while at work", "put it back")
        if status.st_size != self._size:
            raise LogbookError.at(self._path, "something else changed the log while at work", "start again")

    def _roll_back(self, descriptor: int) -> None:
        """Take back a line that was written in part, so that the next one starts cleanly."""
        try:
            os.ftruncate(descriptor, self._size)
            os.fsync(descriptor)
        except OSError:
            # The part line stays, and recovery sets it aside; adding to it would spoil a good line.
            self._broken = True


class MemoryLogbook:
    """A logbook that is forgotten at the end, for tests. It keeps lines, so it returns what a file would."""

    def __init__(self, job: str = "job") -> None:
        self._job = checked_name(job)
        self._data = bytearray()
        self._logged = 0
        self._closed = False
        self.clips: dict[str, bytes] = {}
        """The WAV files kept, by name."""

    def append(self, records: Sequence[Record]) -> None:
        self._check_open()
        self._data += _lines(records, self._logged)
        self._logged += len(records)

    def log(self, events: Sequence[Event], at: Instant) -> list[Record]:
        records = _numbered(events, at, self._logged)
        self.append(records)
        return records

    def records(self) -> list[Record]:
        self._check_open()
        return examine(bytes(self._data), log_path(Path("memory"), self._job)).records

    def keep_clip(self, name: str, clip: "Clip") -> str:
        self._check_open()
        file = free_clip_name(self._job, name, self.clips.__contains__)
        self.clips[file] = wav_bytes(clip)
        return file

    def close(self) -> None:
        self._closed = True

    def _check_open(self) -> None:
        if self._closed:
            raise LogbookError(f"{self._job}: this log was closed")
