"""Why a step may not be worked on now. Each gate is one function; doubt keeps it shut.

A step is read only when every gate is open. The gates are tried again when it is called done, since time has
passed and things have been undone.
"""

from collections.abc import Callable, Iterator, Set
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from companion.job.facts.energy import OPEN, EnergyState
from companion.job.facts.ids import cure_id, isolation_wait_id, skin_id, step_wait_id
from companion.job.facts.state import How, State
from companion.job.rules.held_back import acted_on, closed_over, deed
from companion.job.rules.ledger import Why, left_out, open_things
from companion.procedure.energy_words import energy_words
from companion.procedure.model import ClockStart, SealUse, Step
from companion.procedure.nouns import as_many, the, verb
from companion.procedure.units import short


class Shut(StrEnum):
    """Which gate is shut, for whoever must offer the way through."""

    ORDER = "order"
    LIVE = "live"
    ISOLATION_WAIT = "isolation wait"
    CURE = "cure"
    SKIN_OVER = "skin-over"
    SEAL = "seal"
    PART_MISSING = "part missing"
    STILL_OPEN = "still open"
    BURIED = "buried"
    """It would close over something that is open."""
    PRESSED = "pressed"
    """It would fill, bleed, put under pressure or run what is open."""
    STEP_WAIT = "step wait"


@dataclass(frozen=True)
class Refusal:
    """A shut gate and the reason, as said aloud."""

    gate: Shut
    reason: str
    about: str = ""
    """The step, energy source, seal or part concerned."""
    until: datetime | None = None
    """When it opens by itself, if it does."""


def refusal(state: State, step: Step, now: datetime) -> Refusal | None:
    """The first shut gate in front of a step, or None when it may be read and done."""
    for gate in _GATES:
        for shut in gate(state, step, now):
            return shut
    return None


def _order(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    for before in state.procedure.predecessors(step.id):
        if before not in state.settled:
            yield Refusal(Shut.ORDER, f"step {state.procedure.number(before)} comes first", before)


def _live(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    for energy in step.needs_isolated:
        if state.energy_state(energy) is not EnergyState.PROVED_DEAD:
            yield Refusal(Shut.LIVE, energy_words(state.procedure.energy[energy]).unproved, energy)


def _isolation_wait(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    if not step.proves:
        return
    if state.energy_state(step.proves) not in OPEN:
        yield Refusal(Shut.LIVE, energy_words(state.procedure.energy[step.proves]).live, step.proves)
    yield from isolation_waiting(state, step.proves, now)


def isolation_waiting(state: State, energy: str, now: datetime) -> Iterator[Refusal]:
    """Shut until the maker's wait between isolating and proving is over, where there is one."""
    source = state.procedure.energy[energy]
    if source.wait is not None:
        wait = f"the {energy_words(source).wait}"
        yield from _waiting(state, isolation_wait_id(energy), now, Shut.ISOLATION_WAIT, wait)


def _waiting(state: State, deadline: str, now: datetime, gate: Shut, what: str) -> Iterator[Refusal]:
    """Shut until the wait has run its full time. A wait that was never started has not run."""
    running = state.deadlines.get(deadline)
    if running and now < running.due:
        yield Refusal(gate, f"{what} has {short(running.due - now)} left", deadline, running.due)
    elif running is None and deadline not in state.reached:
        yield Refusal(gate, f"{what} has not begun", deadline)


def _cure(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    for starter in step.waits_for:
        product = _product_of(state, starter)
        settled = state.settled.get(starter)
        if settled and settled.how is How.NOT_NEEDED:
            continue
        if settled is None or settled.how is not How.DONE:
            number = state.procedure.number(starter)
            yield Refusal(Shut.CURE, f"step {number} was not done, so nothing is curing", starter)
        yield from _waiting(state, cure_id(starter), now, Shut.CURE, f"the cure of {the(product)}")


def _product_of(state: State, starter: str) -> str:
    step = state.procedure.step(starter)
    applier = state.procedure.step(step.assembles) if step.assembles else step
    return state.procedure.consumables[applier.applies.consumable].name if applier.applies else "product"


def starts_cure(state: State, step: Step) -> bool:
    """Does the cure clock start when this step is done?"""
    if step.applies:
        return state.procedure.consumables[step.applies.consumable].clock_starts is ClockStart.APPLICATION
    if step.assembles:
        applied = state.procedure.step(step.assembles).applies
        assert applied is not None, "read_procedure checks that `assembles` names a step that applies"
        return state.procedure.consumables[applied.consumable].clock_starts is ClockStart.ASSEMBLY
    return False


def _skin_over(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    if not step.assembles:
        return
    product = _product_of(state, step.id)
    if not state.is_done(step.assembles):
        yield Refusal(Shut.SKIN_OVER, f"{the(product)} is not applied yet", step.assembles)
    skin = state.deadlines.get(skin_id(step.assembles))
    applied = state.procedure.step(step.assembles).applies
    skins = applied and state.procedure.consumables[applied.consumable].skin_over is not None
    if skins and (skin is None or now >= skin.due):
        again = f"{the(product)} has skinned over; clean it off and apply it again"
        yield Refusal(Shut.SKIN_OVER, again, step.assembles)


def _seal(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    for id_ in state.open_seals:
        seal = state.procedure.seals[id_]
        if seal.joint in step.closes and id_ not in step.renews:
            needed = "renewed" if seal.use is SealUse.SINGLE or id_ in state.bad_seals else "inspected"
            yield Refusal(Shut.SEAL, f"{the(seal.name)} must be {needed} first", id_)


def _part_missing(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    for id_ in step.disturbs:
        part = state.procedure.seals[id_].part
        if part and not state.parts.get(part, False):
            wanted = state.procedure.parts[part]
            name = as_many(wanted.count, wanted.name)
            yield Refusal(Shut.PART_MISSING, f"the new {name} {verb(name)} not on the bench", part)


def _still_open(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    """Energy is restored only when all that was opened under its isolation is closed, and all steps done."""
    if not step.restores:
        return
    under = [s for s in state.procedure.steps if step.restores in s.needs_isolated]
    for worked in under:
        if worked.id not in state.settled:
            number = state.procedure.number(worked.id)
            needed = energy_words(state.procedure.energy[step.restores]).needed
            yield Refusal(Shut.STILL_OPEN, f"step {number} still needs {needed}", worked.id)
    ids = {worked.id for worked in under}
    opened = {thing for worked in under for thing in (*worked.opens, *worked.disturbs)}
    for thing in open_things(state):
        if thing.why is not Why.NOT_RESTORED and (thing.id in opened or thing.closed_by in ids):
            yield Refusal(Shut.STILL_OPEN, thing.text, thing.id)


def _buried(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    """Nothing is closed over what was reached through it and is open."""
    number = state.procedure.number(step.id)
    for about in [opening.item or opening.step for opening in closed_over(state, step)]:
        yield Refusal(Shut.BURIED, f"{_told(state, about)}, and step {number} would close over it", about)


def _pressed(state: State, step: Step, now: datetime) -> Iterator[Refusal]:
    """Nothing is filled, bled, put under pressure or run while it is open."""
    number, does = state.procedure.number(step.id), deed(state.procedure, step)
    for about in [opening.item or opening.step for opening in acted_on(state, step)]:
        yield Refusal(Shut.PRESSED, f"{_told(state, about)}, and step {number} {does}", about)


def _told(state: State, about: str) -> str:
    things = (*open_things(state), *left_out(state))
    return next(t.text for t in things if t.id == about and t.why not in (Why.NOT_RESTORED, Why.SEAL))


Gate = Callable[[State, Step, datetime], Iterator[Refusal]]
_GATES: tuple[Gate, ...] = (
    _order,
    _live,
    _isolation_wait,
    _still_open,
    _cure,
    _skin_over,
    _seal,
    _buried,
    _pressed,
    _part_missing,
)
_ABOUT_THINGS = (_still_open, _cure, _skin_over, _seal, _buried, _pressed)
"""Gates that a skipped step keeps shut."""


def waiting_for(state: State, about: Set[str], now: datetime) -> Step | None:
    """The first step to come that is held back by one of these: items, seals, or skipped steps."""
    for step in state.procedure.steps:
        if step.id not in state.settled:
            for gate in _ABOUT_THINGS:
                if any(shut.about in about for shut in gate(state, step, now)):
                    return step
    return None


def finishing_refusal(state: State, step: Step, now: datetime) -> Refusal | None:
    """Why a step being worked on may not be called done yet: its own wait has not run."""
    if step.wait is not None:
        return next(_waiting(state, step_wait_id(step.id), now, Shut.STEP_WAIT, "this wait"), None)
    return None
