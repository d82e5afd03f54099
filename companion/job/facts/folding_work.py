"""How the events of the work itself change the state: steps, items, seals, energy."""

from collections.abc import Mapping
from typing import Any, TypeVar, assert_never

from companion.job.facts import events as ev
from companion.job.facts.energy import EnergyState
from companion.job.facts.events.ledger import LedgerEvent
from companion.job.facts.events.steps import StepEvent
from companion.job.facts.folding_left_out import leave_out, open_again
from companion.job.facts.ids import cure_id, isolation_wait_id, skin_id, skin_warning_id, step_wait_id
from companion.job.facts.instant import Instant
from companion.job.facts.replace import replace
from companion.job.facts.state import How, Reading, Settled, State
from companion.procedure.model import SealUse, Step

V = TypeVar("V")
UNTOUCHED: Mapping[str, Any] = {"stage": 0, "counted": 0, "new_fasteners": (), "reading": None}
"""The fields of a step in hand to which nothing was given yet."""


def put(mapping: Mapping[str, V], key: str, value: V) -> dict[str, V]:
    """A copy with `key` last."""
    return {**without(mapping, key), key: value}


def without(mapping: Mapping[str, V], *keys: str) -> dict[str, V]:
    """A copy that lacks these keys."""
    return {k: v for k, v in mapping.items() if k not in keys}


def fold_work(state: State, event: StepEvent | LedgerEvent, at: Instant) -> State:
    """The state after an event of the work."""
    match event:
        case ev.StepBegun():
            if event.step == state.current:
                return replace(state, looking_at=None)
            return replace(state, current=event.step, begun=at, looking_at=None, last_command="", **UNTOUCHED)
        case ev.StageDone():
            return replace(state, stage=event.stage)
        case ev.StageTakenBack():
            return replace(state, stage=event.stage - 1)
        case ev.Counted():
            return replace(state, counted=event.number)
        case ev.CountTakenBack():
            return replace(state, counted=event.number - 1)
        case ev.FastenersRenewed():
            return replace(state, new_fasteners=(*state.new_fasteners, event.fasteners))
        case ev.FastenersTakenBack():
            kept = tuple(f for f in state.new_fasteners if f != event.fasteners)
            return replace(state, new_fasteners=kept)
        case ev.ReadingTaken():
            return replace(state, reading=Reading(event.value, event.unit, event.within))
        case ev.ReadingDropped():
            return replace(state, reading=None)
        case ev.StepDone():
            return _done(state, event, at)
        case ev.StepSkipped():
            return _skipped(state, event, at)
        case ev.StepNotNeeded():
            return _left_out(state, event.step, How.NOT_NEEDED, at)
        case ev.StepWanted():
            return replace(state, wanted=state.wanted | {event.step})
        case ev.StepUndone():
            return _undone(state, event.step)
        case ev.PartChecked():
            return replace(state, parts=put(state.parts, event.part, event.on_bench))
        case ev.ItemLeftOut():
            return leave_out(state, event, at)
        case ev.LeftOutTakenBack():
            return open_again(state, event.item)
        case ev.SealRenewed() | ev.SealJudged() | ev.SealTakenBack():
            return _fold_seal(state, event)
        case ev.EnergyProved() | ev.ProofFailed() | ev.ProofLost():
            return _fold_proof(state, event)
        case _:
            assert_never(event)


def _settle(state: State, step: str, how: How, at: Instant, because: str = "") -> State:
    settled = put(state.settled, step, Settled(step, how, at.wall, because))
    if step != state.current:
        return replace(state, settled=settled)
    return replace(state, settled=settled, current=None, begun=None, looking_at=None, **UNTOUCHED)


def _done(state: State, event: ev.StepDone, at: Instant) -> State:
    """What doing a step opens and closes, and the waits it ends."""
    step = state.procedure.step(event.step)
    state = open_again(state, *step.opens, *step.closes)
    opened = {**without(state.open_items, *step.opens), **dict.fromkeys(step.opens, step.id)}
    closed = {item: opened[item] for item in step.closes if item in opened}
    energy = dict(state.energy)
    if step.isolates:
        energy[step.isolates] = EnergyState.ISOLATING
    if step.restores:
        energy[step.restores] = EnergyState.RESTORED
    ended = [step_wait_id(step.id)] if step.wait is not None else []
    overtaken = [skin_id(step.assembles), skin_warning_id(step.assembles)] if step.assembles else []
    return replace(
        _settle(state, step.id, How.DONE, at, event.state or ""),
        open_items=without(opened, *step.closes),
        closed_items={**without(state.closed_items, *step.opens), **closed},
        open_seals={**without(state.open_seals, *step.disturbs), **dict.fromkeys(step.disturbs, step.id)},
        mended_seals=without(state.mended_seals, *step.disturbs),
        energy=energy,
        to_prove=tuple(e for e in state.to_prove if e != step.restores),
        deadlines=without(state.deadlines, *ended, *overtaken),
        reached=(state.reached | set(ended)) - set(overtaken),
    )


def _skipped(state: State, event: ev.StepSkipped, at: Instant) -> State:
    state = _left_out(state, event.step, How.SKIPPED, at, event.reason)
    for_good = replace(state.settled[event.step], for_good=event.for_good)
    return replace(state, settled={**state.settled, event.step: for_good})


def _left_out(state: State, step_id: str, how: How, at: Instant, because: str = "") -> State:
    """A step that was skipped or declined starts no wait. An optional one has opened nothing either."""
    step = state.procedure.step(step_id)
    state = _settle(_without_waits(state, step), step_id, how, at, because)
    if step.optional is None and step.only_if is None:
        return state
    return replace(
        state,
        open_items={item: by for item, by in state.open_items.items() if by != step_id},
        open_seals={seal: by for seal, by in state.open_seals.items() if by != step_id},
        left_out={item: left for item, left in state.left_out.items() if left.opener != step_id},
    )


def _without_waits(state: State, step: Step) -> State:
    """The waits that the step starts no longer count."""
    ids = {cure_id(step.id), skin_id(step.id), skin_warning_id(step.id), step_wait_id(step.id)}
    if step.isolates:
        ids.add(isolation_wait_id(step.isolates))
    return replace(state, deadlines=without(state.deadlines, *ids), reached=state.reached - ids)


def _undone(state: State, step_id: str) -> State:
    """All that the step settled is open again; what it opened stays open until closed, or left out for good.

    Energy fails safe: a source whose proof or restoration is undone must be proved again, and one whose
    isolation is undone is live.
    """
    step = state.procedure.step(step_id)
    was_done = state.is_done(step_id)
    state = replace(
        _without_waits(state, step),
        settled=without(state.settled, step_id),
        wanted=state.wanted - {step_id},
    )
    if not was_done:
        return state
    items = {item: state.closed_items[item] for item in step.closes if item in state.closed_items}
    seals = {seal: state.mended_seals[seal] for seal in step.renews if seal in state.mended_seals}
    energy = dict(state.energy)
    to_prove, failed = state.to_prove, state.failed_proofs
    if step.isolates:
        energy[step.isolates] = EnergyState.LIVE
        failed = without(failed, step.isolates)
        to_prove = tuple(e for e in to_prove if e != step.isolates)
    if step.proves and energy.get(step.proves) is EnergyState.PROVED_DEAD:
        energy[step.proves] = EnergyState.ISOLATING
    if step.restores:
        energy[step.restores] = EnergyState.ISOLATING
        to_prove = (*to_prove, step.restores)
    return replace(
        state,
        open_items={**state.open_items, **items},
        closed_items=without(state.closed_items, *items),
        open_seals={**state.open_seals, **seals},
        mended_seals=without(state.mended_seals, *seals),
        energy=energy,
        to_prove=to_prove,
        failed_proofs=failed,
    )


def _fold_seal(state: State, event: ev.SealRenewed | ev.SealJudged | ev.SealTakenBack) -> State:
    match event:
        case ev.SealRenewed():
            return _mended(replace(state, bad_seals=state.bad_seals - {event.seal}), event.seal)
        case ev.SealJudged():
            reusable = state.procedure.seals[event.seal].use is SealUse.INSPECT
            if event.good and reusable and event.seal not in state.bad_seals:
                return _mended(state, event.seal)
            return replace(state, bad_seals=state.bad_seals | {event.seal})
        case ev.SealTakenBack():
            if event.seal not in state.mended_seals:
                return state
            return replace(
                state,
                open_seals=put(state.open_seals, event.seal, state.mended_seals[event.seal]),
                mended_seals=without(state.mended_seals, event.seal),
            )
        case _:
            assert_never(event)


def _fold_proof(state: State, event: ev.EnergyProved | ev.ProofFailed | ev.ProofLost) -> State:
    match event:
        case ev.EnergyProved():
            return replace(
                state,
                energy=put(state.energy, event.energy, EnergyState.PROVED_DEAD),
                to_prove=tuple(e for e in state.to_prove if e != event.energy),
                failed_proofs=without(state.failed_proofs, event.energy),
            )
        case ev.ProofFailed():
            failed = Reading(event.value, event.unit, within=False)
            return replace(state, failed_proofs=put(state.failed_proofs, event.energy, failed))
        case ev.ProofLost():
            others = tuple(e for e in state.to_prove if e != event.energy)
            return replace(
                state,
                energy=put(state.energy, event.energy, EnergyState.ISOLATING),
                to_prove=(*others, event.energy),
            )
        case _:
            assert_never(event)


def _mended(state: State, seal: str) -> State:
    if seal not in state.open_seals:
        return state
    return replace(
        state,
        open_seals=without(state.open_seals, seal),
        mended_seals=put(state.mended_seals, seal, state.open_seals[seal]),
    )
