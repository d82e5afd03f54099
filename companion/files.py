"""Writing files so that they are still there after a power cut, and saying in one line why it failed."""

import errno
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from companion.errors import LogbookError

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
_FORBIDDEN = (errno.EACCES, errno.EPERM)
LARGEST_LOG = 64 << 20
"""Bytes of a job's log. CHOSEN: a busy shift of eight hours writes about a fiftieth of it."""
_OF_A_JOB = {
    ".jsonl": "a job's log",
    ".torn": "the torn lines of a job's log",
    ".wav": "a sound",
    ".yaml": "a procedure",
    ".yml": "a procedure",
}
"""Endings of what a page never takes the place of."""


@contextmanager
def failures_named(path: Path) -> Iterator[None]:
    """Turn what the operating system refuses into a LogbookError of one line, naming `path`."""
    try:
        yield
    except OSError as error:
        raise LogbookError.at(path, *_why(error)) from error


def _why(error: OSError) -> tuple[str, str]:
    """What is wrong, and what to do about it."""
    if error.errno in _FULL:
        return "the disk is full", "free some space and try again; nothing already logged is lost"
    if error.errno == errno.EROFS:
        return "this folder is read-only", "choose another with --logs"
    if error.errno in _FORBIDDEN:
        return "permission denied", "make it readable and writable, or choose another folder with --logs"
    if error.errno == errno.ENOENT:
        return "there is no such file or folder", "check the name and --logs"
    if error.errno == errno.EISDIR:
        return "a folder lies where a file is needed", "move it away, or check --logs"
    if error.errno == errno.ELOOP:
        return "this link leads round in a circle", "take it away"
    if error.errno == errno.ENAMETOOLONG:
        return "this name is too long", "choose a shorter one"
    if error.errno in (errno.ENOTDIR, errno.EEXIST):
        return "a file lies where a folder is needed", "check --logs"
    return error.strerror or str(error), "choose another folder with --logs if this does not pass"


def read_log_bytes(path: Path) -> bytes:
    """The bytes of a log.

    Raises:
        LogbookError: it cannot be read, is no file at all, or is too large; told before anything is read.
    """
    with failures_named(path):
        # A pipe without a writer would hold up whoever opens it otherwise.
        descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        try:
            check_log_file(descriptor, path)
            with os.fdopen(descriptor, "rb", closefd=False) as file:
                return file.read(LARGEST_LOG)
        finally:
            os.close(descriptor)


def check_log_file(descriptor: int, path: Path) -> None:
    """Check that what was opened can be a log (LogbookError when it cannot)."""
    if why := no_log(os.fstat(descriptor)):
        raise LogbookError.at(path, why, "move it out of this folder")


def no_log(status: os.stat_result) -> str:
    """Why something in the folder of logs can be no log; empty when it can."""
    if stat.S_ISDIR(status.st_mode):
        return "this is a folder and no log"
    if not stat.S_ISREG(status.st_mode):
        return "this is a pipe or a device and no log"
    if status.st_size > LARGEST_LOG:
        return f"this is too large for a log, {status.st_size >> 20:,} MB, {LARGEST_LOG >> 20} at most"
    return ""


def write_named(path: Path, content: str | bytes) -> None:
    """Write a page, table or calendar to a file that the user named: all of it or none.

    Raises:
        LogbookError: it cannot be written, or the name is that of a log, a sound or a procedure.
    """
    check_name(path)
    with failures_named(path):
        write_whole(path, content.encode() if isinstance(content, str) else content)


def check_name(path: Path) -> None:
    """Check, before any work, that a page may be written there.

    Raises:
        LogbookError: the name is that of a folder, or of a log, a sound or a procedure, as it stands or as a
            link leads.
    """
    with failures_named(path):
        if path.is_dir():
            raise LogbookError(f"{path}: that is a folder: name a file in it")
        ends = path.suffix.lower(), Path(os.path.realpath(path)).suffix.lower()
    for end in ends:
        if end in _OF_A_JOB:
            raise LogbookError(f"{path}: that is the name of {_OF_A_JOB[end]}: give this another name")


def check_sound_name(path: Path) -> None:
    """Check that a recording may be written there.

    Raises:
        LogbookError: the name is that of a log or procedure, or of a sound that is kept beside a log.
    """
    real = Path(os.path.realpath(path))
    what = _OF_A_JOB.get(real.suffix.lower())
    kept = real.exists() and (real.parent / f"{real.name.partition('.')[0]}.jsonl").exists()
    if what and (real.suffix.lower() != ".wav" or kept):
        raise LogbookError(f"{path}: that is the name of {what} of a job: give this another name")


def write_all(descriptor: int, data: bytes) -> None:
    """Write every byte; the system may take fewer at a time."""
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(descriptor, rest) :]


def sync_folder(folder: Path) -> None:
    """Make the names in a folder durable: a new file can otherwise vanish with the power."""
    _sync(folder)


def _sync(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def make_folder(folder: Path) -> None:
    """Make a folder, and those above it, durably."""
    if not folder.is_dir():
        make_folder(folder.parent)
        folder.mkdir(exist_ok=True)
        sync_folder(folder.parent)


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give the name of a new file that takes the place of `path` at the end, durably.

    When anything fails, the new file goes and the old one stays as it was.
    """
    unfinished = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        yield unfinished
        _sync(unfinished)
        os.replace(unfinished, path)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that either all of it is there, durably, or none of it.

    What is no file, such as a terminal or a pipe, is written to as it is.
    """
    if path.exists() and not path.is_file() and not path.is_dir():
        path.write_bytes(data)
        return
    with replacing(path) as unfinished:
        unfinished.write_bytes(data)
