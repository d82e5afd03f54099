"""What is open now that holds a step back: it would be closed over, or filled, bled or run while open."""

from collections.abc import Iterator

from companion.job.facts.state import How, State
from companion.procedure.holds.circuits import restores_pressure, runs_engine
from companion.procedure.holds.holds import holds_of, leaves_loose
from companion.procedure.holds.reach import Opening
from companion.procedure.model import Procedure, Step


def loose_steps(state: State, for_good: bool = False) -> Iterator[Step]:
    """Skipped steps that would have tightened or filled something that the ledger has no item for."""
    for settled in state.settled.values():
        if settled.how is How.SKIPPED and settled.for_good is for_good:
            step = state.procedure.step(settled.step)
            if leaves_loose(step):
                yield step


def closed_over(state: State, step: Step) -> Iterator[Opening]:
    """What is open and would be hidden by what this step closes, or helps to close."""
    awaited = holds_of(state.procedure).buries[step.id]
    return (opening for opening in _open(state) if opening in awaited) if awaited else iter(())


def acted_on(state: State, step: Step) -> Iterator[Opening]:
    """What is open, even for good, in a circuit that this step fills, bleeds, pressurises or runs."""
    awaited = holds_of(state.procedure).presses[step.id]
    openings = (*_open(state), *_left_out(state)) if awaited else ()
    return (opening for opening in openings if opening in awaited)


def deed(procedure: Procedure, step: Step) -> str:
    """What a step that acts on a circuit does to it."""
    if runs_engine(step):
        return "runs the engine"
    if restores_pressure(procedure, step):
        return "brings the pressure back"
    return "fills or bleeds the circuit"


def _open(state: State) -> Iterator[Opening]:
    yield from (Opening(item, opener) for item, opener in state.open_items.items())
    yield from (Opening("", step.id) for step in loose_steps(state))


def _left_out(state: State) -> Iterator[Opening]:
    yield from (Opening(left.item, left.opener) for left in state.left_out.values())
    yield from (Opening("", step.id) for step in loose_steps(state, for_good=True))
