"""The waits that a step starts when it is begun or done: isolation, skin-over, cure, and its own."""

from datetime import timedelta

from companion.job.facts import events as ev
from companion.job.facts.deadlines import AT_MOST, Kind, later
from companion.job.facts.ids import cure_id, isolation_wait_id, skin_id, skin_warning_id, step_wait_id
from companion.job.facts.sayings import Priority
from companion.job.rules.cure import cure_time
from companion.job.rules.gates import starts_cure
from companion.job.turns.turn import Turn
from companion.job.words.sentences import sentence
from companion.procedure.energy_words import energy_words
from companion.procedure.model import Step
from companion.procedure.nouns import the
from companion.procedure.units import short

SKIN_OVER_LEAD = timedelta(minutes=3)
"""How long before a product skins over the warning comes (at most half of the open time)."""


def set_deadline(
    turn: Turn, id_: str, kind: Kind, running: str, what: str, wait: timedelta, priority: Priority, about: str
) -> None:
    """Something will be due after `wait`: what it is while it runs, and what is said when it is over."""
    due = later(turn.wall if kind in AT_MOST else turn.start, wait)
    turn.record(
        ev.DeadlineSet(
            deadline=id_,
            kind=kind,
            what=what,
            due=due,
            priority=int(priority),
            about=about,
            running=running,
        )
    )


def start_step_wait(turn: Turn, step: Step) -> None:
    """A step that is itself a wait starts its clock once, however often it is read."""
    id_ = step_wait_id(step.id)
    if step.wait is not None and id_ not in turn.state.deadlines and id_ not in turn.state.reached:
        wait = f"wait of step {turn.state.procedure.number(step.id)}"
        over = f"The {wait} is over."
        set_deadline(turn, id_, Kind.STEP_WAIT, wait, over, step.wait, Priority.URGENT, step.id)


def start_isolation_wait(turn: Turn, id_: str) -> timedelta | None:
    """Start, or start again, the maker's wait between isolating and proving; None when there is none."""
    energy = turn.state.procedure.energy[id_]
    if energy.wait is not None:
        words = energy_words(energy)
        over = f"The {words.wait} is over. Prove that {words.proved}."
        wait_id, kind = isolation_wait_id(id_), Kind.ISOLATION_WAIT
        set_deadline(turn, wait_id, kind, words.wait, over, energy.wait, Priority.ROUTINE, id_)
    return energy.wait


def start_waits(turn: Turn, step: Step) -> list[str]:
    """Start the waits that doing this step starts; what to say of them.

    Called before the step is logged as done: if the log ends in between, a wait runs too
    many, and not one too few.
    """
    facts = []
    if step.isolates:
        facts += _isolation_facts(turn, step.isolates)
    if step.proves:
        facts.append(sentence(energy_words(turn.state.procedure.energy[step.proves]).proved))
    if step.restores:
        facts.append(sentence(energy_words(turn.state.procedure.energy[step.restores]).restored))
    if step.applies:
        facts += start_skin_over(turn, step)
    if starts_cure(turn.state, step):
        facts += _start_cure(turn, step)
    return facts


def _isolation_facts(turn: Turn, id_: str) -> list[str]:
    wait = start_isolation_wait(turn, id_)
    proved = energy_words(turn.state.procedure.energy[id_]).proved
    return [f"Wait {short(wait)} before proving that {proved}."] if wait else []


def start_skin_over(turn: Turn, step: Step, gone: timedelta = timedelta()) -> list[str]:
    """Start the time in which what the step applied must be assembled; `gone` of it is over already."""
    assert step.applies is not None
    product = turn.state.procedure.consumables[step.applies.consumable]
    if product.skin_over is None or gone >= product.skin_over:
        return []
    lead = min(SKIN_OVER_LEAD, product.skin_over / 2)
    open_time = f"open time of {the(product.name)}"
    soon = sentence(f"{the(product.name)} skins over in {short(lead)}. Assemble now")
    left = product.skin_over - gone
    if left > lead:
        warning = skin_warning_id(step.id)
        kind = Kind.SKIN_OVER_WARNING
        set_deadline(turn, warning, kind, open_time, soon, left - lead, Priority.URGENT, step.id)
    over = sentence(f"{the(product.name)} has skinned over. Do not assemble: clean it off and apply it again")
    set_deadline(turn, skin_id(step.id), Kind.SKIN_OVER, open_time, over, left, Priority.URGENT, step.id)
    return [f"Assemble within {short(left)}."]


def _start_cure(turn: Turn, step: Step) -> list[str]:
    applier = turn.state.procedure.step(step.assembles) if step.assembles else step
    assert applier.applies is not None
    product = turn.state.procedure.consumables[applier.applies.consumable]
    cure = cure_time(product, applier.applies.depth, turn.state.ambient_c, turn.state.humidity)
    curing, over = f"cure of {the(product.name)}", sentence(f"{the(product.name)} has cured")
    set_deadline(turn, cure_id(step.id), Kind.CURE, curing, over, cure.wait, Priority.ROUTINE, step.id)
    cures = f"{the(product.name)} cures for {short(cure.wait)}"
    if cure.lengthened_by:
        why = " and ".join(cure.lengthened_by)
        cures += f", longer than the data sheet's {short(product.full_cure)}: {why}"
    handling = [f"Do not move the joint for {short(product.handling)}."] if product.handling else []
    return [sentence(cures), *handling]
