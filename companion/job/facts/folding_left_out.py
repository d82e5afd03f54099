"""How leaving an item out for good, and taking that back, changes the state."""

from companion.job.facts import events as ev
from companion.job.facts.instant import Instant
from companion.job.facts.replace import replace
from companion.job.facts.state import How, LeftOut, State


def leave_out(state: State, event: ev.ItemLeftOut, at: Instant) -> State:
    """The item and the seals of its joint are no longer open. Undo takes the step that closes it first."""
    if event.item not in state.open_items:
        return state
    seals = {
        seal: by for seal, by in state.open_seals.items() if state.procedure.seals[seal].joint == event.item
    }
    left = LeftOut(event.item, state.open_items[event.item], event.reason, event.by, at.wall, seals)
    last = [
        settled
        for settled in state.settled.values()
        if settled.how is How.SKIPPED and event.item in state.procedure.step(settled.step).closes
    ]
    others = {id_: settled for id_, settled in state.settled.items() if settled not in last}
    return replace(
        state,
        open_items={id_: by for id_, by in state.open_items.items() if id_ != event.item},
        open_seals={id_: by for id_, by in state.open_seals.items() if id_ not in seals},
        left_out={**state.left_out, event.item: left},
        settled={**others, **{settled.step: settled for settled in last}},
    )


def open_again(state: State, *items: str) -> State:
    """These items are left out no longer: they are open, and their seals want renewing."""
    back = [state.left_out[item] for item in items if item in state.left_out]
    if not back:
        return state
    seals = {seal: by for left in back for seal, by in left.seals.items()}
    return replace(
        state,
        left_out={id_: left for id_, left in state.left_out.items() if left not in back},
        open_items={**state.open_items, **{left.item: left.opener for left in back}},
        open_seals={**state.open_seals, **seals},
    )
