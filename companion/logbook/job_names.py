"""What a job is called, and where its files lie."""

import re
import unicodedata
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from companion.errors import LogbookError

LONGEST = 200
"""Bytes in a job name: file systems take 255, and endings are added to it."""
_NAME = re.compile(r"\w[\w-]*")
_SLUG_LENGTH = 40


def checked_name(name: str) -> str:
    """The name, when it can name a file in the logs folder and nowhere else (else LogbookError)."""
    if not _NAME.fullmatch(name) or len(name.encode("utf-8", "surrogatepass")) > LONGEST:
        shown = name if len(name) <= 60 else name[:57] + "..."
        raise LogbookError(
            f"{shown!r} cannot name a job: use letters, digits, '-' and '_', at most {LONGEST} bytes; "
            "`companion jobs` lists those there are"
        )
    return name


def log_path(logs: Path, job: str) -> Path:
    """Where the log of a job lies."""
    return logs / f"{checked_name(job)}.jsonl"


def torn_path(log: Path) -> Path:
    """Where lines that were cut off in the log of a job are set aside."""
    return log.with_suffix(".torn")


def new_job_name(title: str, now: datetime, existing: Iterable[str]) -> str:
    """A name not yet used, such as `2031-04-02-sump-reseal-1`; the date is that of `now` in its own zone."""
    words = re.findall(r"\w+", unicodedata.normalize("NFKC", title).lower().replace("_", " "))
    slug = "-".join(words)[:_SLUG_LENGTH].strip("-") or "job"
    stem = f"{now:%Y-%m-%d}-{slug}-"
    # Beyond the highest, never in a gap: clips of a job whose log was removed may still lie there.
    used = [
        int(number)
        for name in existing
        if name.startswith(stem) and (number := name.removeprefix(stem)).isascii() and number.isdigit()
    ]
    return f"{stem}{max(used, default=0) + 1}"
