"""The obliging mechanic: gives whatever is wanted next, until the job is closed. Pure."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import assert_never

from companion.job.facts.commands import Command
from companion.job.facts.deadlines import Kind as DeadlineKind
from companion.job.facts.ids import isolation_wait_id
from companion.job.facts.said import questions as q
from companion.job.facts.said.given import Count, Length, Measured, SpokenState, Words
from companion.job.facts.sayings import Priority
from companion.job.facts.state import State
from companion.job.messages import Heard
from companion.job.rules.gates import finishing_refusal, refusal
from companion.job.rules.wants import Kind, first_want, measure_of, proof_measure, proof_words
from companion.procedure.model import Measure, Step

_OWN_WORDS: Mapping[type[q.ForWords], str] = {
    q.LeaveOutReason: "the part is not to be had",
    q.NoteWords: "nothing to remark",
    q.SkipReason: "not needed on this one",
    q.PartName: "the spring clip",
}


def next_answer(state: State, now: datetime | None = None) -> Heard | timedelta:
    """What to say, or how long to wait first. The wait counts from `now`, or from the last event.

    Raises:
        ValueError: the job is closed, or has not been opened.
    """
    if state.closed or state.last is None:
        raise ValueError("nothing is wanted: the job is not open")
    now = now or state.last.wall
    if isinstance(state.question, q.Proof):
        return _proof(state, state.question.energy, now)
    if state.question is not None:
        return _answer(state.question)
    if state.held:
        return Heard(Command.CARRY_ON)
    if any(d.announced and d.priority is not Priority.ROUTINE for d in state.deadlines.values()):
        return Heard(Command.GOT_IT)
    if state.looking_at or state.to_prove:
        return Heard(Command.CARRY_ON)
    if state.step:
        return _for_step(state, state.step, now)
    return _between_steps(state, now)


def _answer(question: q.ForWords | q.ForLength | q.ReadBack | q.YesOrNo) -> Heard:
    match question:
        case q.LeaveOut() | q.DidYouSay() | q.StopWork():
            return Heard(Command.NO)
        case q.AdviceUnderstood():
            return Heard(Command.GOT_IT)
        case q.PartOnBench() | q.StepWanted() | q.PartHere():
            return Heard(Command.YES)
        case q.ReadingRight() | q.PartKnown() | q.PartRight() | q.Close():
            return Heard(Command.YES)
        case q.TimerLength():
            return Heard(Command.DURATION, Length(timedelta(minutes=10)))
        case q.PartWhen():
            return Heard(Command.DURATION, Length(timedelta(days=1)))
        case q.NoteWords() | q.SkipReason() | q.PartName() | q.LeaveOutReason():
            return Heard(Command.WORDS, Words(_OWN_WORDS[type(question)]))
        case _:
            assert_never(question)


def _proof(state: State, energy: str, now: datetime) -> Heard | timedelta:
    wait = state.deadlines.get(isolation_wait_id(energy))
    if wait and now < wait.due:
        return wait.due - now
    measure = proof_measure(state.procedure, energy)
    if measure:
        return _reading(measure)
    return Heard(Command.STATE, SpokenState(proof_words(state.procedure, energy)))


def _for_step(state: State, step: Step, now: datetime) -> Heard | timedelta:
    shut = refusal(state, step, now) or finishing_refusal(state, step, now)
    if shut and shut.until:
        return shut.until - now
    want = first_want(state, step)
    match want.kind:
        case Kind.COUNT:
            return Heard(Command.COUNT, Count(state.counted + 1))
        case Kind.SEAL | Kind.FASTENERS | Kind.STATE:
            return Heard(Command.STATE, SpokenState(want.states[0]))
        case Kind.READING:
            measure = measure_of(state.procedure, step)
            assert measure is not None, "a reading is only wanted where there is a measure"
            return _reading(measure)
        case _:
            return Heard(Command.DONE)


def _between_steps(state: State, now: datetime) -> Heard | timedelta:
    if len(state.settled) == len(state.procedure.steps):
        timers = [d for d in state.deadlines.values() if d.kind is DeadlineKind.TIMER]
        return Heard(Command.CANCEL_TIMER) if timers else Heard(Command.CLOSE_JOB)
    running = [d.due - now for d in state.deadlines.values() if d.due > now]
    return min(running) if running else Heard(Command.CARRY_ON)


def _reading(measure: Measure) -> Heard:
    return Heard(Command.READING, Measured(float(f"{good_value(measure):g}"), measure.unit))


def good_value(measure: Measure) -> float:
    """A value well inside the limits."""
    low, high = measure.at_least, measure.at_most
    if low is not None and high is not None:
        return (low + high) / 2
    if high is not None:
        return high - abs(high) / 2
    return low if low is not None else 1.0
