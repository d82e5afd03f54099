"""The procedures that jobs were begun with, kept beside their logs under their own digests.

A procedure may be edited while a job is on hold; the job goes on with the one it was begun with.
"""

from hashlib import sha256
from pathlib import Path

from companion.errors import LogbookError
from companion.files import failures_named, make_folder, write_whole

FOLDER = "procedures"


def keep_procedure(logs: Path, data: bytes) -> str:
    """Keep the bytes of a procedure file, durably; their SHA-256 (hexadecimal) is returned.

    LogbookError when it cannot be written, or the one kept before was altered.
    """
    digest = sha256(data).hexdigest()
    path = _path(logs, digest)
    with failures_named(path):
        make_folder(path.parent)
        if path.exists():
            return _intact(path, digest)
        write_whole(path, data)
    return digest


def kept_procedure(logs: Path, digest: str) -> Path:
    """The file of a procedure kept earlier (LogbookError when it is missing or was altered)."""
    path = _path(logs, digest)
    with failures_named(path):
        if not path.exists():
            raise LogbookError(f"{path}: the procedure this job was begun with is missing: put it back")
        _intact(path, digest)
    return path


def _path(logs: Path, digest: str) -> Path:
    if len(digest) != 64 or not set(digest) <= set("0123456789abcdef"):
        raise LogbookError(
            f"{logs}: {digest[:64]!r} in a log is no SHA-256 of a procedure: the log was altered"
        )
    return logs / FOLDER / f"{digest[:16]}.yaml"


def _intact(path: Path, digest: str) -> str:
    if sha256(path.read_bytes()).hexdigest() != digest:
        raise LogbookError(f"{path}: this kept procedure was altered: put the original back, or move it away")
    return digest
