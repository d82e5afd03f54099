"""The ledger: everything opened, isolated and disturbed that is not put back yet."""

from dataclasses import dataclass, replace
from enum import StrEnum

from companion.job.facts.energy import OPEN, EnergyState
from companion.job.facts.state import How, State
from companion.job.rules.held_back import loose_steps
from companion.procedure.energy_words import energy_words
from companion.procedure.holds.holds import holds_of
from companion.procedure.holds.reach import Opening
from companion.procedure.model import Item, SealUse, Step
from companion.procedure.nouns import as_many, bare, the, verb


class Why(StrEnum):
    """Why a line stands in the ledger."""

    OPENED = "open"
    NOT_RESTORED = "not restored"
    SEAL = "seal"
    LOOSE = "loose"
    """A step was skipped that would have tightened or filled something."""
    LEFT_OUT = "left out"
    """For good, by decision. It does not keep the job from being closed."""
    NOT_DONE = "not done"


@dataclass(frozen=True)
class OpenItem:
    """One thing that keeps the job from being closed."""

    why: Why
    id: str
    text: str
    """As said aloud: "the oil level connector is off"."""
    closed_by: str | None
    """The id of the step that settles it."""
    because: str = ""
    """Why it is left out, in the mechanic's words."""


def open_things(state: State) -> list[OpenItem]:
    """Items, seals and energy sources not put back, most dangerous first, then in the order opened."""
    procedure = state.procedure
    energy = [
        OpenItem(Why.NOT_RESTORED, e, energy_text(state, e), _step_with(state, "restores", e))
        for e, where in state.energy.items()
        if where in OPEN
    ]
    seals = [
        OpenItem(Why.SEAL, s, _seal_text(state, s), _step_with(state, "renews", s)) for s in state.open_seals
    ]
    items = [
        OpenItem(Why.OPENED, i, _item_text(procedure.items[i]), _closer(state, i, opener))
        for i, opener in state.open_items.items()
    ]
    loose = [loose_end(state, step) for step in loose_steps(state)]
    return energy + items + seals + loose


def left_out(state: State) -> list[OpenItem]:
    """What is left out for good: no longer open, never forgotten."""
    procedure = state.procedure
    items = [
        OpenItem(
            Why.LEFT_OUT,
            left.item,
            f"{the(procedure.items[left.item].name)} {verb(procedure.items[left.item].name)} left out",
            _closer(state, left.item, left.opener),
            left.because,
        )
        for left in state.left_out.values()
    ]
    loose = [
        replace(loose_end(state, step), why=Why.LEFT_OUT, because=state.settled[step.id].because)
        for step in loose_steps(state, for_good=True)
    ]
    return items + loose


def stays(thing: OpenItem) -> str:
    """The same, of something that nobody puts right now: "the oil strainer stays out".

    What is not so already is told as it stands: "the sump bolts are not tightened".
    """
    for is_, stays_ in ((" is ", " stays "), (" are ", " stay ")):
        name, found, so = thing.text.rpartition(is_)
        if found and not so.startswith("not "):
            return f"{name}{stays_}{so}"
    return thing.text


def not_closable(state: State) -> list[OpenItem]:
    """All that keeps the job from being closed: what is open, and steps nobody has settled."""
    unsettled = [
        OpenItem(Why.NOT_DONE, s.id, f"step {state.procedure.number(s.id)} is not done", s.id)
        for s in state.procedure.steps
        if s.id not in state.settled
    ]
    return open_things(state) + unsettled


def energy_text(state: State, energy: str) -> str:
    """Where an energy source stands: "the vehicle is firm on its stands"."""
    words = energy_words(state.procedure.energy[energy])
    match state.energy_state(energy):
        case EnergyState.LIVE:
            return words.live
        case EnergyState.ISOLATING:
            return words.isolated
        case EnergyState.PROVED_DEAD:
            return words.standing
        case EnergyState.RESTORED:
            return words.restored


def _item_text(item: Item) -> str:
    """A name that begins with the word loses it: not "open crankcase is open"."""
    so = item.kind.opened
    name = bare(item.name).removeprefix(f"{so} ")
    return f"{the(name)} {verb(name)} {so}"


def loose_end(state: State, step: Step) -> OpenItem:
    """What a skipped step leaves that no item stands for: "the cover bolts are not tightened"."""
    text = f"step {state.procedure.number(step.id)} is not done"
    for fastener in step.fasteners:
        if fastener.tightening:
            name = as_many(fastener.count, fastener.what)
            text = f"{the(name)} {verb(name)} not tightened"
            break
    return OpenItem(Why.LOOSE, step.id, text, step.id)


def _seal_text(state: State, seal: str) -> str:
    name = state.procedure.seals[seal].name
    needs_a_new_one = seal in state.bad_seals or state.procedure.seals[seal].use is SealUse.SINGLE
    return f"{the(name)} {verb(name)} not {'renewed' if needs_a_new_one else 'inspected'}"


def _closer(state: State, item: str, opener: str) -> str | None:
    """The step that closes what that step opened; the last one in the file where none surely does."""
    closer = holds_of(state.procedure).closed_by.get(Opening(item, opener))
    settled = state.settled.get(closer or "")
    if closer and not (settled and settled.how is How.NOT_NEEDED):
        return closer
    return _step_with(state, "closes", item)


def _step_with(state: State, field: str, id_: str) -> str | None:
    """The step that settles the thing: the last one in the file that is not declined."""
    steps = [
        s.id
        for s in state.procedure.steps
        if (id_ == getattr(s, field) or (field != "restores" and id_ in getattr(s, field)))
        and not (s.id in state.settled and state.settled[s.id].how is How.NOT_NEEDED)
    ]
    return steps[-1] if steps else None
