"""What is open now that holds a step back: it would be closed over, or filled, bled or run while open."""

from collections.abc import Iterator

from companion.job.facts.state import How, State
from companion.procedure.holds.holds import holds_of, leaves_loose
from companion.procedure.holds.reach import Opening
from companion.procedure.model import Step


def loose_steps(state: State) -> Iterator[Step]:
    """Skipped steps that would have tightened or filled something that the ledger has no item for."""
    for settled in state.settled.values():
        if settled.how is How.SKIPPED and leaves_loose(step := state.procedure.step(settled.step)):
            yield step


def closed_over(state: State, step: Step) -> Iterator[Opening]:
    """What is open and would be hidden by what this step closes, or helps to close."""
    return _open_among(state, holds_of(state.procedure).buries[step.id])


def acted_on(state: State, step: Step) -> Iterator[Opening]:
    """What is open in a circuit that this step fills, bleeds, puts under pressure or runs."""
    return _open_among(state, holds_of(state.procedure).presses[step.id])


def _open_among(state: State, awaited: frozenset[Opening]) -> Iterator[Opening]:
    if awaited:
        yield from (opening for opening in _open(state) if opening in awaited)


def _open(state: State) -> Iterator[Opening]:
    yield from (Opening(item, opener) for item, opener in state.open_items.items())
    yield from (Opening("", step.id) for step in loose_steps(state))
