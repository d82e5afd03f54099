"""Forgetting on purpose: a note, a job, a person or everything is taken out of logs, sounds and pages.

What the job did stays true: a log keeps every event and its number, and only words are blanked. The tables
and pages made from the logs are deleted, since they can be made anew.
"""

import json
import os
import re
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from companion.errors import LogbookError
from companion.files import failures_named, read_log_bytes, write_whole
from companion.logbook.job_names import log_path
from companion.logbook.jobs import job_names
from companion.logbook.lines import as_object, damage, event_of
from companion.logbook.lock import lock
from companion.logbook.procedures import FOLDER
from companion.speech.devices.sound_process import LOG_NAME

BLANK = "(forgotten)"
TABLES = ".times"
_MADE = ("handover.html", "handover.txt", "record.html")
_KEPT = frozenset({"schema", "seq", "at", "mono", "event"})
_TALK = ("note_taken", "heard", "misheard", "said", "asked", "answered", "refused")
"""Events that may repeat the words of a note."""
_NAMED = ("job_opened", "session_started")
"""Events that name who works."""
_WORDS = ("text", "reason", "because", "answer", "line", "state", "what")
"""Fields that may hold what somebody said."""


@dataclass
class Forgotten:
    """What was done, for whoever asked."""

    blanked: int = 0
    """Lines of logs in which words were blanked."""
    deleted: list[Path] = field(default_factory=list)

    def add(self, path: Path) -> None:
        """Delete a file or folder, if it is there."""
        with failures_named(path):
            if path.is_dir() and not path.is_symlink():
                shutil.rmtree(path)
            elif path.exists() or path.is_symlink():
                path.unlink()
            else:
                return
        self.deleted.append(path)


def forget_note(logs: Path, job: str, number: int) -> Forgotten:
    """Blank a note, what was heard of it and said of it, and delete its sound.

    Raises:
        LogbookError: there is no such job or note, or somebody is at work on the job.
    """
    lines = _lines(log_path(logs, job))
    found = [
        n for n, line in enumerate(lines) if event_of(line) == "note_taken" and line.get("note") == number
    ]
    if not found:
        raise LogbookError(f"{job}: there is no note {number}: `companion jobs {job}` lists the notes")
    words = {str(lines[n].get("text", "")) for n in found} - {""}
    holds = re.compile("|".join(rf"(?<!\w){re.escape(w)}(?!\w)" for w in words) or r"(?!)")
    clips = {str(lines[n]["clip"]) for n in found if lines[n].get("clip")}

    def without(line: dict[str, Any]) -> dict[str, Any]:
        if event_of(line) in _TALK:
            line = _without_words(line, lambda text: bool(holds.search(text)))
        return {**line, "clip": None} if str(line.get("clip")) in clips else line

    done = Forgotten()
    _rewrite(logs, job, without, done)
    for clip in clips:
        # An altered log may name anything: only a sound of this job goes.
        if Path(clip).name == clip and clip.startswith(f"{job}.") and clip.endswith(".wav"):
            done.add(logs / clip)
    return done


def forget_job(logs: Path, job: str) -> Forgotten:
    """Delete a job: its log, sounds, pages and, when no other job was begun with it, its procedure.

    Raises:
        LogbookError: there is no such job, or somebody is at work on it.
    """
    path = log_path(logs, job)
    if not path.exists():
        raise LogbookError(f"{path}: there is no such job: `companion jobs` lists those there are")
    done = Forgotten()
    with _held(path, job):
        for beside in sorted(logs.glob(f"{job}.*")):
            done.add(beside)
    _drop_tables(logs, done)
    _drop_unused_procedures(logs, done)
    return done


def forget_person(logs: Path, name: str) -> Forgotten:
    """Blank a name, as mechanic and wherever words hold it, in all the logs of a folder.

    Raises:
        LogbookError: nobody of that name is in any log, or somebody is at work on a job that names them.
    """
    named = re.compile(rf"(?<!\w){re.escape(name.strip())}(?!\w)", re.IGNORECASE)
    if not name.strip():
        raise LogbookError("--person needs a name")

    def without(line: dict[str, Any]) -> dict[str, Any]:
        if event_of(line) in _NAMED and named.fullmatch(str(line.get("mechanic", "")).strip()):
            line = {**line, "mechanic": ""}
        return _without_words(line, lambda text: bool(named.search(text)))

    done = Forgotten()
    for job in job_names(logs):
        _rewrite(logs, job, without, done)
    if not done.blanked:
        raise LogbookError(f"{logs}: no log names {name.strip()!r}: nothing was changed")
    return done


def forget_everything(logs: Path) -> Forgotten:
    """Delete all that the companion keeps in a folder; files of others stay.

    Raises:
        LogbookError: somebody is at work on a job.
    """
    done = Forgotten()
    for job in job_names(logs):
        path = log_path(logs, job)
        with _held(path, job):
            for beside in sorted(logs.glob(f"{job}.*")):
                done.add(beside)
    for path in (logs / FOLDER, logs / TABLES, logs / "hearing.json", logs / LOG_NAME):
        done.add(path)
    return done


def _without_words(line: dict[str, Any], holds: Callable[[str], bool]) -> dict[str, Any]:
    """The line with every field blanked whose words hold what is to be forgotten."""

    def blank(value: Any) -> Any:
        if isinstance(value, str) and holds(value):
            return BLANK
        if isinstance(value, dict):
            return {k: blank(v) for k, v in value.items()}
        return value

    return {k: blank(v) if k in _WORDS or isinstance(v, dict) else v for k, v in line.items()}


def _rewrite(
    logs: Path, job: str, without: Callable[[dict[str, Any]], dict[str, Any]], done: Forgotten
) -> None:
    """Write the log again with words blanked: all of it or none. Delete the pages and tables made from it."""
    path = log_path(logs, job)
    if all(without(line) == line for line in _lines(path)):
        return
    with _held(path, job), failures_named(path):
        # Read again now: whoever was at work until a moment ago may have logged more.
        lines = _lines(path)
        kept = [without(line) for line in lines]
        write_whole(path, b"".join(json.dumps(line, ensure_ascii=False).encode() + b"\n" for line in kept))
    done.blanked += sum(before != after for before, after in zip(lines, kept, strict=True))
    for page in _MADE:
        done.add(logs / f"{job}.{page}")
    done.add(path.with_suffix(".torn"))
    _drop_tables(logs, done)


def _lines(path: Path) -> list[dict[str, Any]]:
    if not path.exists():
        raise LogbookError(f"{path}: there is no such job: `companion jobs` lists those there are")
    raw = read_log_bytes(path).split(b"\n")[:-1]
    lines = []
    for number, one in enumerate(raw, start=1):
        line = as_object(one)
        if line is None or not line.keys() >= _KEPT:
            raise damage(f"{path}:{number}", "this line is not an event")
        lines.append(line)
    return lines


@contextmanager
def _held(path: Path, job: str) -> Iterator[None]:
    """Holds the log meanwhile, so that nobody can work on the job."""
    with failures_named(path):
        descriptor = os.open(path, os.O_RDWR)
    try:
        lock(descriptor, job)
        yield
    finally:
        os.close(descriptor)


def _drop_tables(logs: Path, done: Forgotten) -> None:
    if logs / TABLES not in done.deleted:
        done.add(logs / TABLES)


def _drop_unused_procedures(logs: Path, done: Forgotten) -> None:
    used = set(_begun_with(logs))
    for kept in sorted((logs / FOLDER).glob("*.yaml")):
        if kept.stem not in used:
            done.add(kept)


def _begun_with(logs: Path) -> Iterable[str]:
    for job in job_names(logs):
        first = as_object(read_log_bytes(log_path(logs, job)).partition(b"\n")[0])
        yield str((first or {}).get("procedure_sha256", ""))[:16]
