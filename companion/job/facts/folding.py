"""`fold(state, event, at)`: how each event changes where the job stands. Nothing else changes state.

An event changes everything that belongs together at once: the log may end after any of them.
"""

from collections.abc import Container, Iterable, Mapping
from datetime import timedelta
from typing import assert_never

from companion.job.facts import events as ev
from companion.job.facts.deadlines import AT_MOST, Deadline, Kind, later
from companion.job.facts.events.deadlines import DeadlineEvent
from companion.job.facts.events.edges import EdgeEvent
from companion.job.facts.events.ledger import LedgerEvent
from companion.job.facts.events.session import SessionEvent
from companion.job.facts.events.steps import StepEvent
from companion.job.facts.events.talk import TalkEvent
from companion.job.facts.folding_work import fold_work, put, without
from companion.job.facts.instant import Instant
from companion.job.facts.replace import replace
from companion.job.facts.said.log_map import question_in
from companion.job.facts.said.questions import AdviceUnderstood
from companion.job.facts.sayings import Priority
from companion.job.facts.state import Alone, Note, State
from companion.procedure.model import Procedure

SAYINGS_KEPT = 12
MISSED_KEPT = 3
REACHED = "acknowledged"
"""How an urgent deadline ends that ran its full time."""
ARRIVED = "arrived"
"""How the wait for a part ends that has come."""
FOLLOWED_UP = "done"
"""How a follow-up ends."""


Known = Mapping[str, Container[str]]
"""Kind of thing -> the ids that the procedure has of it."""


class UnfitError(ValueError):
    """A record that cannot have come of a job on this procedure: its log was altered."""

    def __init__(self, seq: int, why: str) -> None:
        super().__init__(why)
        self.seq = seq


def replay(procedure: Procedure, records: Iterable[ev.Record]) -> State:
    """The state after all the records of a log.

    Raises:
        UnfitError: a record names something that the procedure does not have, or cannot follow.
    """
    state = State(procedure)
    known: Known = {
        "step": {step.id for step in procedure.steps},
        "seal": procedure.seals,
        "energy": procedure.energy,
    }
    for record in records:
        if stranger := _unknown(record.event, known):
            raise UnfitError(record.seq, f"the procedure has no {stranger}")
        try:
            state = fold(state, record.event, Instant(record.at, record.mono))
        except (LookupError, ValueError, TypeError, ArithmeticError) as error:
            raise UnfitError(record.seq, f"{record.event.event} cannot follow ({error})") from error
    return state


def _unknown(event: ev.Event, known: Known) -> str | None:
    """What an event speaks of that the procedure does not have, such as "step 'x'"."""
    about = event.about if isinstance(event, ev.Asked) else {}
    for kind, ids in known.items():
        named = getattr(event, kind, None) or about.get(kind)
        if named is not None and named not in ids:
            return f"{kind} {named!r}"
    return None


def fold(state: State, event: ev.AnyEvent, at: Instant) -> State:
    """The state after one more event."""
    changed = _changed(state, event, at)
    return changed if at_desk(event) else replace(changed, last=at)


def at_desk(event: ev.Event) -> bool:
    """Was it written while nobody was at the car? Then it is no sign that anyone was there."""
    return isinstance(event, ev.DeadlineSet | ev.DeadlineSettled | ev.QuoteKept) and event.desk


def _changed(state: State, event: ev.AnyEvent, at: Instant) -> State:
    if isinstance(event, StepEvent | LedgerEvent):
        return fold_work(state, event, at)
    if isinstance(event, DeadlineEvent):
        return _fold_deadline(state, event, at)
    if isinstance(event, SessionEvent):
        return _fold_session(state, event, at)
    if isinstance(event, TalkEvent):
        return _fold_talk(state, event, at)
    return _fold_edge(state, event)


def _fold_session(state: State, event: SessionEvent, at: Instant) -> State:
    match event:
        case ev.JobOpened():
            return replace(
                state,
                job=event.job,
                vehicle=event.vehicle,
                mechanic=event.mechanic,
                ambient_c=event.ambient_c,
                humidity=event.humidity,
                advice=event.advice,
                clocks=at,
            )
        case ev.SessionStarted():
            return replace(
                state,
                boot=event.boot,
                clocks=state.clocks if event.boot == state.boot else at,
                alone=_alone(event),
                last_command="",
                missed_at=(),
                mechanic=event.mechanic or state.mechanic,
                sign_of_life=at,
                check_in_stage=0,
                question=None,
                reading=None if state.step and state.step.proves else state.reading,
            )
        case ev.JobHeld():
            because = event.because or (state.held_because if state.held else "")
            return replace(state, held=True, held_because=because, question=None)
        case ev.WorkStopped():
            return replace(state, held=True, stopped=True, question=None)
        case ev.JobCarriedOn():
            return replace(
                state, held=False, held_because="", stopped=False, sign_of_life=at, check_in_stage=0
            )
        case ev.JobClosed():
            return replace(state, closed=True, current=None, begun=None)
        case ev.SessionEnded() | ev.QuoteKept():
            return state
        case _:
            assert_never(event)


def _fold_talk(state: State, event: TalkEvent, at: Instant) -> State:
    match event:
        case ev.HeardCommand():
            return replace(
                state,
                told=(),
                last_heard=event.text or event.command,
                last_command=event.command,
                in_a_row=state.in_a_row + 1 if event.command == state.last_command else 1,
                last_misheard="",
                last_said=(),
                fresh_note=None,
                asked_back=False,
                missed=0,
                sign_of_life=at,
                check_in_stage=0,
            )
        case ev.Misheard():
            return _misheard(state, event, at)
        case ev.Said():
            asked_again = state.question is not None and event.text == state.asked
            return replace(
                state,
                last_said=(*state.last_said, event.text)[-SAYINGS_KEPT:],
                asked_at=at if asked_again else state.asked_at,
            )
        case ev.Asked():
            return replace(
                state,
                question=question_in(event.question, event.about),
                asked=event.text,
                asked_at=at,
                last_command="",
            )
        case ev.Answered():
            understood = isinstance(state.question, AdviceUnderstood)
            return replace(state, question=None, advice=() if understood else state.advice)
        case ev.NoteTaken():
            note = Note(event.note, event.step, event.text, event.clip)
            return replace(state, notes=(*state.notes, note), notes_taken=event.note, fresh_note=event.note)
        case ev.NoteDropped():
            kept = tuple(n for n in state.notes if n.number != event.note)
            fresh = None if state.fresh_note == event.note else state.fresh_note
            return replace(state, notes=kept, fresh_note=fresh)
        case ev.LookedBack():
            return replace(state, looking_at=event.step)
        case ev.LookEnded():
            return replace(state, looking_at=None)
        case ev.SayingLost() | ev.Refused():
            return state
        case _:
            assert_never(event)


def _fold_edge(state: State, event: EdgeEvent) -> State:
    match event:
        case ev.LogFailed():
            return replace(state, log_failed=True)
        case ev.LogMended():
            return replace(state, log_failed=False)
        case ev.MicrophoneChanged() | ev.HearingFailed() | ev.AlarmCommandRun():
            return state
        case _:
            assert_never(event)


def _misheard(state: State, event: ev.Misheard, at: Instant) -> State:
    heard = replace(state, last_misheard=event.text, asked_back=event.guess is not None)
    if not event.told:
        return heard
    latest = (*state.missed_at, at.mono)[-MISSED_KEPT:]
    return replace(heard, missed=state.missed + 1, missed_at=latest)


def _alone(event: ev.SessionStarted) -> Alone | None:
    if event.alone_every_s is None:
        return None
    under = event.alone_every_s if event.alone_under_vehicle_s is None else event.alone_under_vehicle_s
    return Alone(timedelta(seconds=event.alone_every_s), timedelta(seconds=under))


def _fold_deadline(state: State, event: DeadlineEvent, at: Instant) -> State:
    match event:
        case ev.DeadlineSet():
            deadline = Deadline(
                event.deadline,
                Kind(event.kind),
                event.what,
                event.due,
                Priority(event.priority),
                event.about,
                running=event.running,
            )
            return replace(
                state,
                deadlines=put(state.deadlines, event.deadline, deadline),
                reached=state.reached - {event.deadline},
                parts=_on_bench(state, deadline, False),
            )
        case ev.DeadlineAnnounced():
            due = state.deadlines[event.deadline]
            if due.priority is Priority.ROUTINE and due.kind is not Kind.PART_EXPECTED:
                return replace(
                    state,
                    deadlines=without(state.deadlines, due.id),
                    reached=state.reached | {due.id},
                    told=(*state.told, due.what),
                )
            said = replace(due, announced=event.times, last_announced=at.wall)
            told = (*state.told, due.what) if due.priority is Priority.ROUTINE else state.told
            return replace(state, deadlines={**state.deadlines, event.deadline: said}, told=told)
        case ev.DeadlineSettled():
            reached = state.reached | {event.deadline} if event.how == REACHED else state.reached
            done = frozenset({event.deadline}) if event.how == FOLLOWED_UP else frozenset()
            came = state.deadlines.get(event.deadline) if event.how == ARRIVED else None
            return replace(
                state,
                deadlines=without(state.deadlines, event.deadline),
                reached=reached,
                followed_up=state.followed_up | done,
                parts=_on_bench(state, came, True) if came else state.parts,
            )
        case ev.ClockMoved():
            return _on_the_new_clock(state, event, at)
        case ev.CheckInEscalated():
            return replace(state, check_in_stage=event.stage)
        case _:
            assert_never(event)


def _on_bench(state: State, deadline: Deadline, there: bool) -> Mapping[str, bool]:
    """A part of the procedure that is awaited is not on the bench; once it has come, it is."""
    if deadline.kind is not Kind.PART_EXPECTED or deadline.about not in state.procedure.parts:
        return state.parts
    return {**state.parts, deadline.about: there}


def _on_the_new_clock(state: State, event: ev.ClockMoved, at: Instant) -> State:
    """The wall clock was set: every wait keeps its full length, and what was done keeps its distance."""
    by = timedelta(seconds=event.by_s)
    moved = {id_: deadline.moved(by) for id_, deadline in state.deadlines.items()}
    if event.unsure:
        moved |= {id_: replace(d, due=min(d.due, at.wall)) for id_, d in moved.items() if d.kind in AT_MOST}
    settled = {id_: replace(s, at=later(s.at, by)) for id_, s in state.settled.items()}
    return replace(state, deadlines=moved, settled=settled, clocks=at)
