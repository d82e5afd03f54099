"""Deadlines in the course of a turn: announced when due, repeated until acknowledged, moved by the clock."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from companion.job.facts import events as ev
from companion.job.facts.deadlines import ON_TIME, REPEAT_EVERY, Deadline, Kind, later, overdue, running
from companion.job.facts.energy import OPEN
from companion.job.facts.ids import next_timer_id
from companion.job.facts.instant import Instant
from companion.job.facts.said.given import Given, Length
from companion.job.facts.said.log_map import as_map
from companion.job.facts.said.questions import TimerLength
from companion.job.facts.sayings import Priority, Tone
from companion.job.facts.state import State
from companion.job.rules.jumps import TOLERANCE, drift, unseen_jump
from companion.job.turns.turn import Turn
from companion.job.words.sentences import in_threes
from companion.procedure.units import short

_TONES = {Priority.ROUTINE: Tone.CUE, Priority.URGENT: Tone.URGENT, Priority.DANGER: Tone.DANGER}
ALARM_STAGE = 3
"""From this check-in stage on the alarm is loud and interrupts."""
HOOK_STAGE = 4
"""At this check-in stage the user's own command is run, when one is set."""


def announce_due(turn: Turn, boundary: bool) -> None:
    """Say what is due, oldest first. Routine ones wait for a step boundary while a step is in hand."""
    working = turn.state.current and not turn.state.held and not turn.state.to_prove
    interruptible = boundary or not working
    due = overdue(turn.state.deadlines.values(), turn.wall)
    for deadline in due:
        if deadline.priority is Priority.ROUTINE and not (interruptible or _held_up_by(turn.state, deadline)):
            continue
        if deadline.kind is Kind.SKIN_OVER_WARNING and any(_overtakes(other, deadline) for other in due):
            turn.record(ev.DeadlineSettled(deadline=deadline.id, how="overtaken"))
            continue
        late = turn.wall - deadline.due
        late_s = late.total_seconds() if deadline.announced == 0 and late > ON_TIME else 0.0
        turn.record(ev.DeadlineAnnounced(deadline=deadline.id, late_s=late_s, times=deadline.announced + 1))
        lateness = f" This was due {short(late)} ago." if late_s else ""
        urgent = deadline.priority is not Priority.ROUTINE
        text = _still_time(turn, deadline) or f"{deadline.what}{lateness}"
        turn.say(text, deadline.priority, _TONES[deadline.priority], safety=urgent)


def _still_time(turn: Turn, warning: Deadline) -> str | None:
    """A warning tells the time that is left now, however late or often it is said."""
    if warning.kind is not Kind.SKIN_OVER_WARNING:
        return None
    warned_of = (d for d in turn.state.deadlines.values() if _overtakes(d, warning))
    return next((f"{deadline.told(turn.wall)}. Assemble now." for deadline in warned_of), None)


def _overtakes(other: Deadline, warning: Deadline) -> bool:
    """What was warned of has come: it is too late to say "assemble now"."""
    return other.kind is Kind.SKIN_OVER and other.about == warning.about


def _held_up_by(state: State, deadline: Deadline) -> bool:
    """Does the step in hand wait for it? After a failed proof the mechanic stands there until it is over."""
    proves = state.step.proves if state.step else None
    return deadline.kind is Kind.ISOLATION_WAIT and proves is not None and deadline.about == proves


def heed_the_clocks(turn: Turn) -> None:
    """When the wall clock was set since the two clocks last agreed, move every wait with it."""
    since = turn.state.clocks
    jump = unseen_jump(since, turn.now, same_boot=True) if since else timedelta()
    if abs(jump) > TOLERANCE:
        turn.record(ev.ClockMoved(by_s=jump.total_seconds()))


def heed_a_new_boot(turn: Turn) -> None:
    """The machine was off. Only a wall clock that went back is known to have been set meanwhile."""
    state = turn.state
    if state.last is None:
        return
    drifted, jump = drift(state.clocks, state.last), unseen_jump(state.last, turn.now, same_boot=False)
    if drifted > timedelta():
        # Only a clock that was ahead is corrected. One that was behind may have been put right meanwhile,
        # and then no wait must be made shorter.
        turn.record(ev.ClockMoved(by_s=drifted.total_seconds()))
    if abs(jump) > TOLERANCE:
        turn.record(ev.ClockMoved(by_s=jump.total_seconds(), unsure=True))


def got_it(turn: Turn) -> None:
    """ "Got it" acknowledges every urgent reminder that has been said."""
    said = [d for d in turn.state.deadlines.values() if d.acknowledgeable]
    for deadline in said:
        turn.record(ev.DeadlineSettled(deadline=deadline.id, how="acknowledged"))
    asked = bool(said) or turn.before.check_in_stage > 0
    turn.say("Good." if asked else "Nothing is waiting for an answer.")


def start_timer(turn: Turn, given: Given | None) -> None:
    """Start a timer, or ask for how long."""
    if given is None:
        turn.ask(TimerLength(), "For how long?")
        return
    if not isinstance(given, Length):
        said = as_map(given).get("minutes", "")
        turn.refuse("start a timer", f"{said!r} is not a number of minutes")
        return
    length = given.time
    if not timedelta() < length <= timedelta(days=7):
        turn.refuse("start a timer", "a timer runs from one second to seven days")
        return
    turn.record(
        ev.DeadlineSet(
            deadline=next_timer_id((*turn.state.deadlines, *turn.state.reached)),
            kind=Kind.TIMER,
            what=f"Timer of {short(length)} is over.",
            running=f"timer of {short(length)}",
            due=later(turn.start, length),
            priority=int(Priority.URGENT),
            about=turn.state.current or "",
        )
    )
    turn.say(f"Timer started: {short(length)}.")


def cancel_timer(turn: Turn) -> None:
    """Cancel the timer started last, by name of its length."""
    timers = [d for d in turn.state.deadlines.values() if d.kind is Kind.TIMER]
    if not timers:
        turn.refuse("cancel the timer", "no timer is running")
        return
    turn.record(ev.DeadlineSettled(deadline=timers[-1].id, how="cancelled"))
    turn.say(f"{timers[-1].what.removesuffix(' is over.')} cancelled.")


def waiting_sayings(state: State, now: Instant) -> list[str]:
    """The answer to "what is waiting", soonest first."""
    over = [d.what for d in state.deadlines.values() if d.due <= now.wall]
    facts = [*over, *(d.told(now.wall) for d in running(state.deadlines.values(), now.wall))]
    return list(in_threes(facts)) or ["Nothing is waiting."]


def check_in(turn: Turn) -> None:
    """Look after someone working alone: ask, ask again, raise the alarm; each stage is an event."""
    due = check_in_due(turn.state)
    if due is None or turn.now.mono < due:
        return
    stage = turn.state.check_in_stage + 1
    turn.record(ev.CheckInEscalated(stage=stage))
    if stage < ALARM_STAGE:
        turn.say("Are you all right? Say got it.", Priority.URGENT, Tone.URGENT, safety=True)
    else:
        turn.say("Alarm: no answer from the mechanic.", Priority.DANGER, Tone.DANGER, safety=True)


def check_in_due(state: State) -> timedelta | None:
    """When the next check-in stage is due on the monotonic clock; None when none was asked for."""
    if (
        state.alone is None
        or state.sign_of_life is None
        or state.closed
        or (state.held and not state.stopped and not state.log_failed)
    ):
        return None
    every = state.alone.under_vehicle if _under_vehicle(state) else state.alone.every
    return state.sign_of_life.mono + every + REPEAT_EVERY * state.check_in_stage


def _under_vehicle(state: State) -> bool:
    """Does the vehicle stand supported, so that someone may be under it?"""
    return any(
        state.procedure.energy[e].source.carries and where in OPEN for e, where in state.energy.items()
    )


def wake_times(state: State, now: Instant) -> Mapping[str, datetime]:
    """When the inbox wants to be woken, for the edge that does it."""
    ahead = max(drift(state.clocks, now), timedelta())
    wakes = {
        d.id: later(wake, ahead)
        for d in state.deadlines.values()
        if (wake := d.next_wake()) is not None and later(wake, ahead) > now.wall
    }
    due = check_in_due(state)
    if due is not None:
        wakes["check-in"] = later(now.wall, max(due - now.mono, timedelta()))
    return wakes
