"""`fold(state, event, at)`: how each event changes where the job stands. Nothing else changes state."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import timedelta
from typing import TypeVar

from companion.job import events as ev
from companion.job.energy import EnergyState
from companion.job.gates import cure_id, skin_id, step_wait_id
from companion.job.instant import Instant
from companion.job.sayings import Priority
from companion.job.state import Alone, How, Note, Question, Reading, Settled, State
from companion.procedure.model import Procedure, SealUse, Step
from companion.reminders.deadlines import Deadline, Kind

V = TypeVar("V")

SAYINGS_KEPT = 12


def replay(procedure: Procedure, records: Iterable[ev.Record]) -> State:
    """The state after all the records of a log."""
    state = State(procedure)
    for record in records:
        state = fold(state, record.event, Instant(record.at, record.mono))
    return state


def fold(state: State, event: ev.Event, at: Instant) -> State:
    """The state after one more event."""
    return replace(_changed(state, event, at), last=at)


def _with(mapping: Mapping[str, V], key: str, value: V) -> dict[str, V]:
    """A copy with `key` last."""
    return {**_without(mapping, key), key: value}


def _without(mapping: Mapping[str, V], *keys: str) -> dict[str, V]:
    return {k: v for k, v in mapping.items() if k not in keys}


def _changed(state: State, event: ev.Event, at: Instant) -> State:
    match event:
        case ev.JobOpened():
            return replace(state, job=event.job, ambient_c=event.ambient_c)
        case ev.SessionStarted():
            return replace(state, boot=event.boot, alone=_alone(event), sign_of_life=at, check_in_stage=0)
        case ev.HeardCommand():
            return replace(
                state,
                last_heard=event.text or event.command,
                last_misheard="",
                last_said=(),
                fresh_note=None,
                asked_back=False,
                sign_of_life=at,
                check_in_stage=0,
            )
        case ev.Misheard():
            return replace(state, last_misheard=event.text, asked_back=event.guess is not None)
        case ev.Said():
            return replace(state, last_said=(*state.last_said, event.text)[-SAYINGS_KEPT:])
        case ev.Asked():
            return replace(
                state, question=Question(event.question), about=dict(event.about), asked=event.text
            )
        case ev.Answered():
            return replace(state, question=None, about={})
        case ev.PartChecked():
            return replace(state, parts=_with(state.parts, event.part, event.on_bench))
        case ev.NoteTaken():
            note = Note(event.note, event.step, event.text, event.clip)
            return replace(state, notes=(*state.notes, note), notes_taken=event.note, fresh_note=event.note)
        case ev.NoteDropped():
            return replace(state, notes=tuple(n for n in state.notes if n.number != event.note))
        case ev.JobHeld():
            return replace(state, held=True)
        case ev.WorkStopped():
            return replace(state, held=True, stopped=True, question=None, about={})
        case ev.JobCarriedOn():
            return replace(state, held=False, stopped=False, sign_of_life=at, check_in_stage=0)
        case ev.CheckInEscalated():
            return replace(state, check_in_stage=event.stage)
        case ev.JobClosed():
            return replace(state, closed=True, current=None, begun=None)
        case _:
            return _step_changed(state, event, at)


def _alone(event: ev.SessionStarted) -> Alone | None:
    if event.alone_every_s is None:
        return None
    under = event.alone_every_s if event.alone_under_vehicle_s is None else event.alone_under_vehicle_s
    return Alone(timedelta(seconds=event.alone_every_s), timedelta(seconds=under))


def _step_changed(state: State, event: ev.Event, at: Instant) -> State:
    match event:
        case ev.StepBegun():
            if event.step == state.current:
                return replace(state, looking_at=None)
            return replace(
                state, current=event.step, begun=at, looking_at=None, stage=0, counted=0, reading=None
            )
        case ev.LookedBack():
            return replace(state, looking_at=event.step)
        case ev.StageDone():
            return replace(state, stage=event.stage)
        case ev.Counted():
            return replace(state, counted=event.number)
        case ev.ReadingTaken():
            return replace(state, reading=Reading(event.value, event.unit, event.within))
        case ev.ReadingDropped():
            return replace(state, reading=None)
        case ev.StepDone():
            done = _settle(state, event.step, How.DONE, at, event.state or "")
            return _carried_out(done, state.procedure.step(event.step))
        case ev.StepSkipped():
            return _settle(state, event.step, How.SKIPPED, at, event.reason)
        case ev.StepNotNeeded():
            return _settle(state, event.step, How.NOT_NEEDED, at)
        case ev.StepWanted():
            return replace(state, wanted=state.wanted | {event.step})
        case ev.StepUndone():
            return _undone(state, event.step)
        case _:
            return _kept_safe(state, event, at)


def _settle(state: State, step: str, how: How, at: Instant, because: str = "") -> State:
    settled = _with(state.settled, step, Settled(step, how, at.wall, because))
    if step != state.current:
        return replace(state, settled=settled)
    return replace(
        state, settled=settled, current=None, begun=None, looking_at=None, stage=0, counted=0, reading=None
    )


def _carried_out(state: State, step: Step) -> State:
    """What doing a step opens and closes."""
    items = {**_without(state.open_items, *step.opens), **dict.fromkeys(step.opens, step.id)}
    seals = {**_without(state.open_seals, *step.disturbs), **dict.fromkeys(step.disturbs, step.id)}
    energy = dict(state.energy)
    if step.isolates:
        energy[step.isolates] = EnergyState.ISOLATING
    if step.restores:
        energy[step.restores] = EnergyState.RESTORED
    return replace(
        state, open_items=_without(items, *step.closes), open_seals=seals, energy=energy,
        to_prove=tuple(e for e in state.to_prove if e != step.restores),
    )  # fmt: skip


def _undone(state: State, step_id: str) -> State:
    """All that the step settled is open again. What it opened stays open only if it was opened elsewhere.

    Energy fails safe: a source whose isolation, proof or restoration is undone must be proved (again).
    """
    step = state.procedure.step(step_id)
    was_done = state.is_done(step_id)
    state = replace(
        state,
        settled=_without(state.settled, step_id),
        wanted=state.wanted - {step_id},
        reached=state.reached - {cure_id(step_id), skin_id(step_id), step_wait_id(step_id)},
    )
    if not was_done:
        return state
    opened_by = {item: s.id for s in state.procedure.steps for item in s.opens if state.is_done(s.id)}
    disturbed_by = {seal: s.id for s in state.procedure.steps for seal in s.disturbs if state.is_done(s.id)}
    items = _without(state.open_items, *step.opens)
    items |= {item: opened_by[item] for item in step.closes if item in opened_by}
    seals = _without(state.open_seals, *step.disturbs)
    seals |= {seal: disturbed_by[seal] for seal in step.renews if seal in disturbed_by}
    energy = dict(state.energy)
    if step.isolates:
        energy[step.isolates] = EnergyState.LIVE
    if step.proves and energy.get(step.proves) is EnergyState.PROVED_DEAD:
        energy[step.proves] = EnergyState.ISOLATING
    to_prove = state.to_prove
    if step.restores:
        energy[step.restores] = EnergyState.ISOLATING
        to_prove = (*to_prove, step.restores)
    return replace(state, open_items=items, open_seals=seals, energy=energy, to_prove=to_prove)


def _kept_safe(state: State, event: ev.Event, at: Instant) -> State:
    """Seals, energy and deadlines."""
    match event:
        case ev.SealRenewed():
            return replace(
                state,
                open_seals=_without(state.open_seals, event.seal),
                bad_seals=state.bad_seals - {event.seal},
            )
        case ev.SealJudged():
            reusable = state.procedure.seals[event.seal].use is SealUse.INSPECT
            if event.good and reusable and event.seal not in state.bad_seals:
                return replace(state, open_seals=_without(state.open_seals, event.seal))
            return replace(state, bad_seals=state.bad_seals | {event.seal})
        case ev.EnergyProved():
            return replace(
                state,
                energy=_with(state.energy, event.energy, EnergyState.PROVED_DEAD),
                to_prove=tuple(e for e in state.to_prove if e != event.energy),
            )
        case ev.ProofLost():
            others = tuple(e for e in state.to_prove if e != event.energy)
            return replace(
                state,
                energy=_with(state.energy, event.energy, EnergyState.ISOLATING),
                to_prove=(*others, event.energy),
            )
        case ev.DeadlineSet():
            deadline = Deadline(
                event.deadline, Kind(event.kind), event.what, event.due, Priority(event.priority), event.about
            )
            return replace(
                state,
                deadlines=_with(state.deadlines, event.deadline, deadline),
                reached=state.reached - {event.deadline},
            )
        case ev.DeadlineMoved():
            moved = replace(state.deadlines[event.deadline], due=event.due)
            return replace(state, deadlines={**state.deadlines, event.deadline: moved})
        case ev.DeadlineAnnounced():
            said = replace(state.deadlines[event.deadline], announced=event.times, last_announced=at.wall)
            return replace(state, deadlines={**state.deadlines, event.deadline: said})
        case ev.DeadlineSettled():
            reached = state.reached | {event.deadline} if event.how in REACHED else state.reached
            return replace(state, deadlines=_without(state.deadlines, event.deadline), reached=reached)
        case _:
            return state


REACHED = ("reached", "acknowledged")
"""How a deadline ends that ran its full time."""
