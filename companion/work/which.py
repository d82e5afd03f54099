"""Which job is meant: the one worked on last, or the only open one that some words fit."""

import re
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

from companion.errors import LogbookError
from companion.logbook.jobs import JobSummary, list_jobs

LONG_AGO = datetime.min.replace(tzinfo=UTC)
MOST = 5
"""At most so many candidates are listed in one message."""


def job_to_resume(words: str, logs: Path) -> str:
    """The name of the job to go on with: without words the one worked on last, else the one they fit.

    They are looked for in the name of the job, the title of its procedure and its vehicle. A damaged log is
    never passed over for another job: it may be the one that is meant.

    Raises:
        LogbookError: there is none, it is not clear which, or the log is damaged; with what to do.
    """
    jobs = [job for job in list_jobs(logs) if job.begun]
    if words in {job.job for job in jobs}:
        return words
    found = [job for job in jobs if _fits(job, words) and not (job.closed and not job.trouble)]
    if not found:
        raise LogbookError(_none(jobs, words, logs))
    if words and len(found) > 1:
        raise LogbookError(f"{words!r} fits {len(found)} jobs: {_listed(found)}: name one with --job")
    chosen = max(found, key=_when)
    newer = [job for job in jobs if job.trouble and _when(job) >= _when(chosen)]
    # Words that fit another log leave a damaged one aside, unless nothing in it says what it is.
    lost = [job for job in newer if not (words and job.title)]
    if lost:
        newest = max(lost, key=_when)
        raise LogbookError(
            f"{newest.trouble}: the log written last is damaged{_of(newest)}, and no other job is taken in "
            "its place: put back a good copy, or name a job with --job"
        )
    return chosen.job


def _when(job: JobSummary) -> datetime:
    """When it was last worked on, as far as is known; a damaged log counts as the latest that it may be."""
    known = [moment for moment in (job.last, job.written if job.trouble else None) if moment]
    return max(known, default=LONG_AGO)


def _fits(job: JobSummary, words: str) -> bool:
    text = _plain(f"{job.job} {job.title} {job.vehicle}")
    return all(word in text for word in _plain(_stem(words)).split())


def _stem(words: str) -> str:
    """A procedure may be named by its file."""
    return Path(words).stem if words.endswith((".yaml", ".yml")) else words


def _plain(text: str) -> str:
    return re.sub(r"[\W_]+", " ", text.casefold()).strip()


def _of(job: JobSummary) -> str:
    told = ", ".join(part for part in (job.title, job.vehicle) if part)
    return f" ({told})" if told else ""


def _listed(jobs: Sequence[JobSummary]) -> str:
    more = [f"and {len(jobs) - MOST} more"] if len(jobs) > MOST else []
    return "; ".join([*_told(jobs[:MOST]), *more])


def _told(jobs: Sequence[JobSummary]) -> Iterator[str]:
    for job in jobs:
        last = f"{job.last.astimezone():%Y-%m-%d %H:%M}" if job.last else "no time known"
        about = [job.title, job.vehicle, "damaged" if job.trouble else f"last worked on {last}"]
        yield f"{job.job} ({', '.join(part for part in about if part)})"


def _none(jobs: Sequence[JobSummary], words: str, logs: Path) -> str:
    closed = [job for job in jobs if _fits(job, words) and job.closed]
    if words and closed:
        return f"{words!r} fits no open job, only closed ones: {_listed(closed)}: see companion jobs"
    still = [job for job in jobs if not job.closed]
    if words and still:
        return f"{words!r} fits no open job in {logs}; open are: {_listed(still)}"
    return f"{logs}: there is no open job to go on with; start one: companion work PROCEDURE"
