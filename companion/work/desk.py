"""Writing into the log of a job that nobody works on: parts awaited, follow-ups done, a quote."""

from pathlib import Path

from companion.errors import LogbookError
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.state import State
from companion.job.messages import FollowedUp, PartAwaited, PartCame, QuoteGiven
from companion.job.rules.jumps import TOLERANCE, unseen_jump
from companion.work.edges.clock import Clock
from companion.work.opening import OpenJob, resume_job

DeskMessage = PartAwaited | PartCame | FollowedUp | QuoteGiven


def write_at_desk(job: str, logs: Path, message: DeskMessage, clock: Clock) -> State:
    """Log what the message says; returns where the job stands then.

    Raises:
        LogbookError: there is no such job, somebody is at work on it, the job does not allow it, or the wall
            clock was set since the job was left: then no date can be trusted.
    """
    opened = resume_job(job, logs, clock)
    try:
        return _write(opened, message, clock)
    finally:
        opened.logbook.close()


def _write(opened: OpenJob, message: DeskMessage, clock: Clock) -> State:
    now, state = clock.now(), opened.state
    same_boot = clock.boot() == state.boot
    last = state.clocks if same_boot else state.last
    if last and abs(unseen_jump(last, now, same_boot)) > TOLERANCE:
        raise LogbookError(
            f"{opened.logbook.path}: the clock of this machine was set since the job was left; "
            f"go on with the job once (companion work --job {state.job}), then say it again"
        )
    decision = decide(state, message, now)
    for event in decision.events:
        if isinstance(event, ev.Refused):
            raise LogbookError(f"{state.job}: {event.reason}")
    opened.logbook.log(decision.events, now)
    return decision.state
