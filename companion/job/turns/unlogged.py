"""While the log cannot be written: the job is held, and nothing that is said counts."""

from companion.job.facts import events as ev
from companion.job.facts.deadlines import Kind
from companion.job.facts.ids import LOG_ID
from companion.job.facts.sayings import Priority
from companion.job.turns.interruptions import hold
from companion.job.turns.reminders import announce_due
from companion.job.turns.turn import Turn


def log_failed(turn: Turn, reason: str) -> None:
    """Say so at once and until it is acknowledged, and hold the job."""
    turn.record(ev.LogFailed(reason=reason))
    turn.record(
        ev.DeadlineSet(
            deadline=LOG_ID,
            kind=Kind.LOG_FAILED,
            what=f"I cannot write the log: {reason.rstrip('.')}. What you say now does not count. "
            "Stop where it is safe.",
            due=turn.wall,
            priority=int(Priority.URGENT),
        )
    )
    announce_due(turn, boundary=False)
    if not turn.state.held and not turn.state.closed:
        hold(turn, "the log cannot be written")


def log_mended(turn: Turn) -> None:
    """All that happened is on the disk. The mechanic decides when to go on."""
    if LOG_ID in turn.state.deadlines:
        turn.record(ev.DeadlineSettled(deadline=LOG_ID, how="cancelled"))
    turn.record(ev.LogMended())
    turn.say("The log is written again. What I refused meanwhile must be said again.", Priority.URGENT)
