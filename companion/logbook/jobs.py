"""Which jobs a folder of logs holds, without reading what happened in them."""

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from companion.errors import LogbookError
from companion.files import failures_named, read_log_bytes
from companion.harmless import harmless, one_line
from companion.job.facts.events import Record
from companion.logbook.lines import as_object, damage, decode, event_of

_STOPPED = "work_stopped"
_HOLDS = {"job_held", _STOPPED}
_TALK = frozenset({"said", "heard", "misheard", "asked", "answered"})
"""Most of a log; none of them begins or ends work."""


@dataclass(frozen=True)
class JobSummary:
    """One job, as its log tells it."""

    job: str
    title: str = ""
    vehicle: str = ""
    mechanic: str = ""
    mechanics: tuple[str, ...] = ()
    """All who worked on it, who began it first."""
    first: datetime | None = None
    """When it was begun, UTC."""
    last: datetime | None = None
    """When something was last logged at the car, UTC."""
    written: datetime | None = field(default=None, compare=False)
    """When the file was last written, UTC; the only thing that is known of some damaged logs."""
    begun: bool = True
    """False when the log holds no event: the start of the job failed."""
    closed: bool = False
    held: bool = False
    because: str = ""
    """Why it is held, in the mechanic's words; empty when it is not, or nobody said."""
    open_items: int | None = None
    """What is still open. Whoever lists the jobs may fill it in; here it is not counted."""
    torn: bool = False
    """The last line is unfinished: cut off, or just being written by a companion at work."""
    trouble: str = ""
    """One line on why the log cannot be read, when it cannot; what can be read of it is told all the same."""


def job_names(logs: Path) -> list[str]:
    """The jobs that have a log in the folder, in order; none when there is no folder yet."""
    with failures_named(logs):
        return sorted(path.stem for path in logs.glob("*.jsonl") if path.is_file())


def log_names(logs: Path) -> list[str]:
    """The same with whatever else is named like a log: a folder, a pipe, a link that leads nowhere."""
    with failures_named(logs):
        return sorted(path.stem for path in logs.glob("*.jsonl"))


def list_jobs(logs: Path) -> list[JobSummary]:
    """Every job in a folder, the one last worked on first. A log that cannot be read is listed as such.

    LogbookError when the folder is not there or cannot be read.
    """
    with failures_named(logs):
        if not logs.is_dir():
            raise LogbookError(f"{logs}: there is no such folder: name the folder of logs with --logs")
    jobs = [summary(logs / f"{name}.jsonl") for name in log_names(logs)]
    return sorted(jobs, key=lambda job: (-job.last.timestamp() if job.last else 0.0, job.job))


def summary(path: Path) -> JobSummary:
    """What the log of one job tells about it. Its lines are read; its events are not checked."""
    try:
        lines = read_log_bytes(path).split(b"\n")
    except LogbookError as error:
        return JobSummary(path.stem, trouble=str(error), written=_written(path))
    unfinished = lines.pop()
    found = [as_object(raw) for raw in lines]
    torn = bool(unfinished)
    if found and found[-1] is None and not torn:
        torn = True
        found.pop()
    broken = [f"{path}:{n}: this line is not JSON" for n, fields in enumerate(found, 1) if fields is None]
    told = _told([fields for fields in found if fields is not None], path, torn)
    return replace(told, trouble=broken[0] if broken else told.trouble, written=_written(path))


def timed(path: Path) -> list[Record]:
    """The records of a log by which a stopwatch runs; talk is not read, so it is quick.

    Raises:
        LogbookError: the log cannot be read, or one of them is no event.
    """
    *whole, _ = read_log_bytes(path).split(b"\n")
    found = [as_object(raw) for raw in whole]
    if found and found[-1] is None:
        found.pop()  # torn, and never acknowledged
    kept = []
    for number, fields in enumerate(found, 1):
        if fields is None:
            raise damage(f"{path}:{number}", "this line is not JSON")
        # The last one before a new start tells how long a companion that died was there.
        following = found[number] if number < len(found) else None
        ends = following is None or event_of(following) == "session_started"
        if ends or event_of(fields) not in _TALK:
            kept.append(decode(fields, f"{path}:{number}"))
    return kept


def _written(path: Path) -> datetime | None:
    with suppress(OSError):
        return datetime.fromtimestamp(path.lstat().st_mtime, UTC)
    return None


def _told(found: list[dict[str, Any]], path: Path, torn: bool) -> JobSummary:
    if not found and torn:
        return JobSummary(path.stem, torn=torn, trouble=f"{path}: no event was logged")
    if not found:
        return JobSummary(path.stem, begun=False)
    held = _happened_last(found, _HOLDS, {"job_carried_on", "job_closed"})
    try:
        return JobSummary(
            job=path.stem,
            title=harmless(str(found[0].get("title", ""))),
            vehicle=harmless(str(found[0].get("vehicle", ""))),
            mechanic=harmless(str(found[0].get("mechanic", ""))),
            mechanics=_mechanics(found),
            first=_moment(found[0]),
            last=_moment(next((f for f in reversed(found) if not f.get("desk")), found[0])),
            closed=_happened_last(found, {"job_closed"}, set()),
            held=held,
            because=_because(found) if held else "",
            torn=torn,
        )
    except (KeyError, TypeError, ValueError) as error:
        return JobSummary(
            path.stem, torn=torn, trouble=f"{path}: an event has no time that can be read ({error})"
        )


def _mechanics(found: list[dict[str, Any]]) -> tuple[str, ...]:
    """Names that differ in capitals alone are one."""
    told = (f for f in found if event_of(f) in ("job_opened", "session_started"))
    names: dict[str, str] = {}
    for name in filter(None, (one_line(str(fields.get("mechanic", ""))) for fields in told)):
        names.setdefault(name.casefold(), name)
    return tuple(names.values())


def _because(found: list[dict[str, Any]]) -> str:
    last = next(f for f in reversed(found) if event_of(f) in _HOLDS)
    return one_line(str(last.get("because", ""))) or ("work stopped" if event_of(last) == _STOPPED else "")


def _moment(fields: dict[str, Any]) -> datetime:
    moment = datetime.fromisoformat(fields["at"])
    if moment.tzinfo is None:
        raise ValueError("no time zone")
    return moment


def _happened_last(found: Iterable[dict[str, Any]], these: set[str], against: set[str]) -> bool:
    state = False
    for fields in found:
        name = event_of(fields)
        if name in these:
            state = True
        elif name in against:
            state = False
    return state
