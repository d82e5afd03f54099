"""How long is left, at the car: from logged times where a fit of them is kept, otherwise by the book."""

import re
from pathlib import Path

from companion.errors import LabourError, MissingPartError
from companion.extras import Extra, need
from companion.job.decide import BOOK
from companion.job.facts.folding import at_desk
from companion.job.left import TimeLeft
from companion.labour.model.kept import kept_fit, load
from companion.logbook.jobs import job_names
from companion.work.opening import OpenJob

_DATE, _NUMBER = re.compile(r"^\d{4}-\d\d-\d\d-"), re.compile(r"-\d+$")


def time_left(job: OpenJob, logs: Path) -> tuple[TimeLeft, str | None]:
    """What answers "how long left" in this job. With it comes why it is only the book, when there are logs.

    `companion times` keeps the fit, and `companion quote` and `companion plan` renew it: fitting takes
    seconds, and the mechanic is waiting.
    """
    title = job.state.procedure.title
    kept = kept_fit(logs, title)
    if not kept.is_file():
        return BOOK, _not_fitted(job, logs)
    try:
        need(Extra.LABOUR, "what is known from logs")
    except MissingPartError as error:
        return BOOK, f"time left is by the book: {error}"
    from companion.labour.answers.left import LoggedTimeLeft

    try:
        fitted = load(kept)
    except LabourError as error:
        return BOOK, f"time left is by the book: {error}"
    left = LoggedTimeLeft(fitted, job.particulars.mechanic if job.particulars else job.state.mechanic)
    for record in job.logbook.records():
        if not at_desk(record.event):
            left.see(record)
    return left, None


def _not_fitted(job: OpenJob, logs: Path) -> str | None:
    """Nothing to say on the first job of a kind; jobs are told by their names, because reading all their logs
    takes long."""
    others = [name for name in job_names(logs) if name != job.logbook.path.stem]
    if _kind(job.logbook.path.stem) not in map(_kind, others):
        return None
    return "time left is by the book; 'companion times' makes the logged times ready for the next job"


def _kind(name: str) -> str:
    return _NUMBER.sub("", _DATE.sub("", name))
