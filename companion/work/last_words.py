"""The last lines on the terminal, when the job is closed or left."""

import shlex
from collections.abc import Sequence
from pathlib import Path

from companion.errors import LogbookError
from companion.job.facts.state import State
from companion.logbook.logbook import Logbook
from companion.papers.record_of_work import active_time, record_of_work
from companion.papers.summary import summary
from companion.work.after import local_short, page_beside, record_beside


def going_on(job: str, options: Sequence[str]) -> str:
    """The command that takes the job up again, with the same options."""
    return shlex.join(["companion", "work", "--job", job, *options])


def last_words(state: State, logbook: Logbook, log: Path, options: Sequence[str]) -> list[str]:
    """What to leave on the terminal of the job that is logged in `log`.

    `options` are those that `companion work` is to be given again.
    """
    go_on = going_on(log.stem, options)
    try:
        records = logbook.records()
    except LogbookError as error:
        return [f"The log cannot be read: {error}", f"Go on with: {go_on}"]
    if state.job is None:
        return []
    beside = [("Handover page", page_beside(log)), ("Record of work", record_beside(log))]
    pages = [(what, path) for what, path in beside if path.exists()]
    record = record_of_work(state, records, local_short)
    return summary(state, record, active_time(records), pages, go_on)
