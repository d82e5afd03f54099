"""Writing files so that they are still there after a power cut, and saying in one line why it failed."""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from companion.errors import LogbookError

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
_FORBIDDEN = (errno.EACCES, errno.EPERM)


@contextmanager
def failures_named(path: Path) -> Iterator[None]:
    """Turn what the operating system refuses into a LogbookError of one line, naming `path`."""
    try:
        yield
    except OSError as error:
        raise LogbookError(f"{path}: {_why(error)}") from error


def _why(error: OSError) -> str:
    if error.errno in _FULL:
        return "the disk is full: free some space and try again; nothing already logged is lost"
    if error.errno == errno.EROFS:
        return "this folder is read-only: choose another with --logs"
    if error.errno in _FORBIDDEN:
        return "permission denied: make it readable and writable, or choose another folder with --logs"
    if error.errno == errno.ENOENT:
        return "there is no such file or folder: check the name and --logs"
    if error.errno in (errno.ENOTDIR, errno.EEXIST, errno.EISDIR):
        return "a file lies where a folder is needed, or a folder where a file is: check --logs"
    return f"{error.strerror or error}: choose another folder with --logs if this does not pass"


def write_named(path: Path, text: str) -> None:
    """Write a page to a file that the user named: all of it or none.

    Raises:
        LogbookError: it cannot be written, or the name is that of the log of a job.
    """
    if path.suffix == ".jsonl":
        raise LogbookError(f"{path}: that is the name of a job's log: give the page another name")
    with failures_named(path):
        write_whole(path, text.encode())


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
