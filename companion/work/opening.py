"""Opening a job: a new one with its procedure kept beside the log, or one that goes on from its log."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from companion.errors import LogbookError, ProcedureError
from companion.harmless import one_line
from companion.job.facts.events import JobOpened, Record
from companion.job.facts.folding import UnfitError, replay
from companion.job.facts.state import State
from companion.logbook.job_names import log_path, new_job_name
from companion.logbook.jobs import log_names
from companion.logbook.lines import damage
from companion.logbook.logbook import FileLogbook
from companion.logbook.procedures import keep_procedure, kept_procedure
from companion.logbook.recover import read_log
from companion.procedure.checks.review_marks import questions
from companion.procedure.model import Procedure
from companion.procedure.nouns import several
from companion.procedure.read import Finding, read_kept_procedure, read_with_advice
from companion.procedure.rules.review_marks import DANGEROUS, OPEN
from companion.work.edges.clock import Clock


@dataclass
class OpenJob:
    """A job with its log open, before the first message."""

    state: State
    logbook: FileLogbook
    particulars: JobOpened | None
    """For a new job."""
    warning: str | None = None
    """Something about the log to be shown and said."""


@dataclass(frozen=True)
class Particulars:
    """What is known of a new job beside its procedure."""

    vehicle: str = ""
    mechanic: str = ""
    ambient_c: float | None = None
    humidity: float | None = None
    """% relative."""


def new_job(path: Path, logs: Path, about: Particulars, clock: Clock, *, rehearsed: bool = False) -> OpenJob:
    """Begin a job on the procedure file at `path`.

    Raises:
        ProcedureError: the file cannot be used, or what could hurt someone is not known. A rehearsal may.
        LogbookError: the logs folder cannot be used.
    """
    procedure, advice = read_with_advice(path)
    if not rehearsed:
        _refuse_dangerous(path, procedure)
    digest = keep_procedure(logs, path.read_bytes())
    job = new_job_name(procedure.title, clock.now().wall.astimezone(), log_names(logs))
    particulars = JobOpened(
        job=job,
        title=procedure.title,
        revision=procedure.revision,
        procedure_sha256=digest,
        vehicle=about.vehicle,
        mechanic=about.mechanic,
        ambient_c=about.ambient_c,
        humidity=about.humidity,
        advice=tuple(_told(one) for one in advice if one.rule not in (OPEN, DANGEROUS)),
    )
    return OpenJob(State(procedure), FileLogbook.create(logs, job), particulars)


def _told(finding: Finding) -> str:
    """A finding as it is told at the bench: where and what, without file and line."""
    return f"{finding.label}: {finding.message}" if finding.label else finding.message


def _refuse_dangerous(path: Path, procedure: Procedure) -> None:
    dangerous = [review.ask for _, review in questions(procedure) if review.dangerous]
    if dangerous:
        many = several(len(dangerous), "question")
        more = f" (and {len(dangerous) - 1} more)" if len(dangerous) > 1 else ""
        raise ProcedureError(
            one_line(
                f"{path}: {many} could hurt someone while open: {dangerous[0]}{more} "
                f"Answer first: companion draft --answer {path}"
            )
        )


def resume_job(job: str, logs: Path, clock: Clock) -> OpenJob:
    """Go on with a job exactly where its log ends.

    Raises:
        LogbookError: there is no such job, or its log or kept procedure cannot be used.
    """
    logbook, recovered = FileLogbook.resume(logs, job, clock.now().wall)
    try:
        state = _folded(recovered.records, logs, logbook.path)
    except BaseException:
        logbook.close()
        raise
    return OpenJob(state, logbook, None, recovered.warning())


def read_job(job: str, logs: Path) -> State:
    """Where a job stands. Nothing is changed, and somebody may be working on it meanwhile.

    Raises:
        LogbookError: there is no such job, or its log or kept procedure cannot be used.
    """
    return read_whole(job, logs)[0]


def read_whole(job: str, logs: Path) -> tuple[State, list[Record]]:
    """The same with all the records that led there. Raises as `read_job` does."""
    path = log_path(logs, job)
    records = read_log(path).records
    return _folded(records, logs, path), records


def _folded(records: list[Record], logs: Path, path: Path) -> State:
    opened = records[0].event if records else None
    if not isinstance(opened, JobOpened):
        raise LogbookError(f"{path}: the log does not begin with the job: it was altered or is empty")
    try:
        return replay(_read_once(kept_procedure(logs, opened.procedure_sha256)), records)
    except UnfitError as error:
        raise damage(f"{path}:{error.seq}", str(error)) from error


@cache
def _read_once(path: Path) -> Procedure:
    """A kept procedure never changes: its name is its checksum. Many jobs share one."""
    return read_kept_procedure(path)
