"""What follows an event outside the job: pages of a job held, left or closed; the command in an alarm."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from threading import Thread

from companion.errors import LogbookError
from companion.files import write_named
from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.deadlines import Kind
from companion.job.facts.folding import ARRIVED
from companion.job.facts.state import State
from companion.job.turns.reminders import HOOK_STAGE
from companion.logbook.job_names import log_path
from companion.logbook.logbook import Logbook
from companion.papers.handover import Handover, as_html, as_text, handover
from companion.papers.record_of_work import RecordOfWork, record_of_work
from companion.papers.record_of_work import as_html as record_as_html
from companion.work.edges.hook import run_hook
from companion.work.inbox import Post
from companion.work.opening import read_whole
from companion.work.views.view import View


def local(moment: datetime) -> str:
    """A moment in the time of the workshop."""
    return f"{moment.astimezone():%A %d %B %Y, %H:%M}"


def local_short(moment: datetime) -> str:
    """The same for a table."""
    return f"{moment.astimezone():%Y-%m-%d %H:%M}"


def handover_of(job: str, logs: Path, now: datetime) -> Handover:
    """The handover of a job as its log tells it.

    Raises:
        LogbookError: there is no such job, or its log cannot be used.
    """
    return handover(*read_whole(job, logs), now, local)


def record_of(job: str, logs: Path) -> RecordOfWork:
    """The record of work of a job as its log tells it.

    Raises:
        LogbookError: there is no such job, or its log cannot be used.
    """
    return record_of_work(*read_whole(job, logs), local_short)


def write_page(page: Handover, html: Path, text: Path | None = None) -> None:
    """Write the page, for a browser and, where `text` is given, for a terminal.

    Raises:
        LogbookError: it cannot be written.
    """
    write_named(html, as_html(page))
    if text is not None:
        write_named(text, "\n".join(as_text(page)) + "\n")


def page_beside(log: Path) -> Path:
    """Where the handover page of the job of this log is kept."""
    return log.with_name(f"{log.stem}.handover.html")


def record_beside(log: Path) -> Path:
    """Where the record of work of a closed job is kept."""
    return log.with_name(f"{log.stem}.record.html")


def renew_page(job: str, logs: Path, state: State, now: datetime) -> Path | None:
    """Write the handover page beside the log again, when there is one or the job is held. Returns its path.

    The desk calls this after it has written into the log: the page must not tell of a part as it was.

    Raises:
        LogbookError: it cannot be written.
    """
    html = page_beside(log_path(logs, job))
    if not state.held and not html.exists():
        return None
    write_page(handover_of(job, logs, now), html, html.with_suffix(".txt"))
    return html


class After:
    """Called with the events of each message. What goes wrong here is shown, and never stops the job."""

    def __init__(
        self, logbook: Logbook, log: Path, view: View, post: Post, command: Sequence[str] = ()
    ) -> None:
        """Pages are kept beside `log`. `command`, if any, is run when someone alone answers no more.

        That it was started, and what became of it, is posted, so that it is logged.
        """
        self._logbook = logbook
        self._log = log
        self._view = view
        self._post = post
        self._command = tuple(command)

    def __call__(self, events: Sequence[ev.Event], state: State, now: datetime) -> None:
        """Do what follows from these events; returns at once."""
        for event in events:
            awaited = isinstance(event, ev.DeadlineSet) and event.kind == Kind.PART_EXPECTED
            came = isinstance(event, ev.DeadlineSettled) and event.how == ARRIVED
            left = isinstance(event, ev.SessionEnded) and not state.closed
            if isinstance(event, ev.JobHeld) or left or ((awaited or came) and state.held):
                self._hand_over(state, now)
            elif isinstance(event, ev.JobClosed):
                self._close(state, now)
            elif isinstance(event, ev.CheckInEscalated) and event.stage == HOOK_STAGE and self._command:
                Thread(target=self._alarm, args=(state,), name="alarm", daemon=True).start()

    def _hand_over(self, state: State, now: datetime) -> None:
        html = page_beside(self._log)
        try:
            write_page(handover(state, self._logbook.records(), now, local), html, html.with_suffix(".txt"))
        except LogbookError as error:
            self._view.warn(f"no handover page: {error}")
        else:
            self._view.tell(f"handover page: {html}")

    def _close(self, state: State, now: datetime) -> None:
        """Write the record of work, and the handover page again: it must not tell of work that is done."""
        html = record_beside(self._log)
        try:
            record = record_of_work(state, self._logbook.records(), local_short)
            write_named(html, record_as_html(record))
        except LogbookError as error:
            self._view.warn(f"no record of work: {error}")
        else:
            self._view.tell(f"record of work: {html}")
        if page_beside(self._log).exists():
            self._hand_over(state, now)

    def _alarm(self, state: State) -> None:
        about = {
            "job": state.job or "",
            "vehicle": state.vehicle,
            "mechanic": state.mechanic,
            "stage": str(HOOK_STAGE),
        }
        self._post(msg.AlarmCommand(HOOK_STAGE, "started"))
        outcome = run_hook(self._command, about)
        self._post(msg.AlarmCommand(HOOK_STAGE, outcome.ending, outcome.status, outcome.line))
        if outcome.worked:
            self._view.tell(outcome.line)
        else:
            self._view.warn(outcome.line)
