"""Writing into the log of a job that nobody is working on: a part is awaited, or has come."""

from pathlib import Path

from companion.errors import LogbookError
from companion.job import events as ev
from companion.job.decide import decide
from companion.job.messages import PartAwaited, PartCame
from companion.reminders.clock import Clock
from companion.reminders.deadlines import Deadline
from companion.reminders.jumps import TOLERANCE, unseen_jump
from companion.work.opening import OpenJob, resume_job


def write_at_desk(job: str, logs: Path, message: PartAwaited | PartCame, clock: Clock) -> Deadline:
    """Log what the message says; returns the wait that was begun or has ended.

    Raises:
        LogbookError: there is no such job, somebody is at work on it, the job does not allow it, or the wall
            clock was set since the job was left, so that no day can be told.
    """
    opened = resume_job(job, logs, clock)
    try:
        return _write(opened, message, clock)
    finally:
        opened.logbook.close()


def _write(opened: OpenJob, message: PartAwaited | PartCame, clock: Clock) -> Deadline:
    now, state = clock.now(), opened.state
    last = state.clocks if clock.boot() == state.boot else state.last
    if last and abs(unseen_jump(last, now, clock.boot() == state.boot)) > TOLERANCE:
        raise LogbookError(
            f"{opened.logbook.path}: the clock of this machine was set since the job was left; "
            f"go on with the job once (companion work --job {state.job}), then say it again"
        )
    decision = decide(state, message, now)
    for event in decision.events:
        if isinstance(event, ev.Refused):
            raise LogbookError(f"{state.job}: {event.reason}")
    records = [
        ev.Record(seq=opened.logged + n, at=now.wall, mono=now.mono, event=event)
        for n, event in enumerate(decision.events, start=1)
    ]
    opened.logbook.append(records)
    (id_,) = [e.deadline for e in decision.events if isinstance(e, ev.DeadlineSet | ev.DeadlineSettled)]
    return decision.state.deadlines.get(id_) or state.deadlines[id_]
