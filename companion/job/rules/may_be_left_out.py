"""What may be left out for good now, and why something may not be."""

from collections.abc import Iterator

from companion.job.facts.state import How, State
from companion.job.rules.held_back import deed
from companion.job.rules.ledger import OpenItem, Why, loose_end, open_things
from companion.procedure.holds.circuits import acts_on, lets_out
from companion.procedure.holds.holds import holds_of, leaves_loose
from companion.procedure.holds.lives import carries_lives
from companion.procedure.holds.reach import Opening
from companion.procedure.model import Signal, Step
from companion.procedure.nouns import bare, the

CAN_BE_LEFT = (Why.OPENED, Why.LOOSE)


def left_by(state: State, step_id: str) -> list[OpenItem]:
    """What stays open as long as this step is not done. It is left out together, or not at all."""
    things = [t for t in open_things(state) if t.closed_by == step_id and t.why in CAN_BE_LEFT]
    step = state.procedure.step(step_id)
    if not things and step_id not in state.settled and leaves_loose(step):
        return [loose_end(state, step)]
    return things


def steps_to_leave(state: State) -> Iterator[Step]:
    """Steps that can be left out for good now: the one at hand, and those skipped, the last one first."""
    skipped = [s.step for s in state.settled.values() if s.how is How.SKIPPED]
    for step_id in (*filter(None, (state.looking_at, state.current)), *reversed(skipped)):
        step = state.procedure.step(step_id)
        if why_not_now(state, step) is None and why_not_ever(state, step) is None:
            yield step


def names_to_leave(state: State) -> tuple[str, ...]:
    """The names by which something can be left out now."""
    items = state.procedure.items
    names = [
        bare(items[thing.id].name)
        for step in steps_to_leave(state)
        for thing in left_by(state, step.id)
        if thing.why is Why.OPENED
    ]
    return tuple(dict.fromkeys(names))


def why_not_now(state: State, step: Step) -> str | None:
    """Why it is too early, or too late, to leave out what this step would put back."""
    settled = state.settled.get(step.id)
    number = state.procedure.number(step.id)
    if settled is None and step.id != state.current:
        return f"it is put back in step {number}, which is still to come; say so then"
    if settled is not None and settled.how is not How.SKIPPED:
        return f"step {number} is done"
    return None if left_by(state, step.id) else "nothing of it is open"


def why_not_ever(state: State, step: Step) -> str | None:
    """Why what this step would put back may never be left out, or not with the steps still to come."""
    number = state.procedure.number(step.id)
    if step.restores or step.proves or step.isolates:
        return f"step {number} makes energy safe or brings it back, and is never left out"
    if any(hazard.signal is Signal.DANGER for hazard in step.hazards):
        return f"step {number} is marked DANGER, and is never left out"
    if carries_lives(state.procedure, step):
        return f"lives may hang on step {number}, and it is never left out"
    for thing in left_by(state, step.id):
        if thing.why is Why.OPENED and state.procedure.items[thing.id].kind.comes_away:
            return f"{the(state.procedure.items[thing.id].name)} must come away again"
        for told, opening in _would_leak(state, thing):
            acting = _acts_on(state, step, opening)
            if acting:
                still = deed(state.procedure, acting)
                return f"{told}, and step {state.procedure.number(acting.id)} still {still}"
    return None


def _would_leak(state: State, thing: OpenItem) -> Iterator[tuple[str, Opening]]:
    """What would stay open: the thing itself, and what fasteners hold together."""
    if thing.why is Why.LOOSE:
        yield thing.text, Opening("", thing.id)
        return
    yield thing.text, Opening(thing.id, state.open_items[thing.id])
    items = state.procedure.items
    if items[thing.id].kind.holds:
        for held in sorted(holds_of(state.procedure).behind.get(thing.id, ())):
            opener = next(s.id for s in state.procedure.steps if held in s.opens)
            yield f"{thing.text}, which hold {the(items[held].name)}", Opening(held, opener)


def _acts_on(state: State, closer: Step, opening: Opening) -> Step | None:
    """A step to come that fills, bleeds, puts under pressure or runs what would stay open."""
    procedure = state.procedure
    item = procedure.items[opening.item] if opening.item else None
    for step in procedure.steps:
        if step.id in state.settled or step.id == closer.id or opening.item in step.leaves_open:
            continue
        circuits = acts_on(procedure, step)
        leaks = item is not None and circuits is not None and lets_out(item, circuits)
        if leaks or opening in holds_of(procedure).presses[step.id]:
            return step
    return None
