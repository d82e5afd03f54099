"""The waits that a step starts when it is begun or done: isolation, skin-over, cure, and its own."""

from datetime import timedelta

from companion.job import events as ev
from companion.job.gates import cure_id, isolation_wait_id, skin_id, starts_cure, step_wait_id
from companion.job.reading_out import sentence
from companion.job.sayings import Priority
from companion.job.turn import Turn
from companion.procedure.model import Step
from companion.procedure.units import short
from companion.reminders.cure import cure_time
from companion.reminders.deadlines import Kind

SKIN_OVER_LEAD = timedelta(minutes=3)
"""How long before a product skins over the warning comes (at most half of the open time)."""


def set_deadline(
    turn: Turn, id_: str, kind: Kind, what: str, wait: timedelta, priority: Priority, about: str = ""
) -> None:
    """Something will be due after `wait`."""
    due = turn.wall + wait
    turn.record(
        ev.DeadlineSet(deadline=id_, kind=kind, what=what, due=due, priority=int(priority), about=about)
    )


def start_step_wait(turn: Turn, step: Step) -> None:
    """A step that is itself a wait starts its clock once, however often it is read."""
    id_ = step_wait_id(step.id)
    if step.wait is not None and id_ not in turn.state.deadlines and id_ not in turn.state.reached:
        what = f"Step {turn.state.procedure.number(step.id)}: the wait is over."
        set_deadline(turn, id_, Kind.STEP_WAIT, what, step.wait, Priority.URGENT, step.id)


def start_isolation_wait(turn: Turn, id_: str) -> timedelta | None:
    """Start, or start again, the maker's wait between isolating and proving; None when there is none."""
    energy = turn.state.procedure.energy[id_]
    if energy.wait is not None:
        what = f"{energy.name}: the isolation wait is over. Prove it dead."
        set_deadline(
            turn, isolation_wait_id(id_), Kind.ISOLATION_WAIT, what, energy.wait, Priority.ROUTINE, id_
        )
    return energy.wait


def start_waits(turn: Turn, step: Step) -> list[str]:
    """Start the waits that doing this step starts; what to say of them."""
    facts = []
    if step.isolates:
        facts += _isolation_facts(turn, step.isolates)
    if step.proves:
        facts.append(sentence(f"{turn.state.procedure.energy[step.proves].name} proved dead"))
    if step.restores:
        facts.append(sentence(f"{turn.state.procedure.energy[step.restores].name} restored"))
    if step.wait is not None:
        settle(turn, step_wait_id(step.id), "acknowledged")
    if step.applies:
        facts += _start_skin_over(turn, step)
    if step.assembles:
        settle(turn, skin_id(step.assembles), "overtaken")
        settle(turn, f"{skin_id(step.assembles)}:warning", "overtaken")
    if starts_cure(turn.state, step):
        facts += _start_cure(turn, step)
    return facts


def settle(turn: Turn, id_: str, how: str) -> None:
    """End a deadline, if it runs."""
    if id_ in turn.state.deadlines:
        turn.record(ev.DeadlineSettled(deadline=id_, how=how))


def _isolation_facts(turn: Turn, id_: str) -> list[str]:
    wait = start_isolation_wait(turn, id_)
    name = turn.state.procedure.energy[id_].name
    return [f"Wait {short(wait)} before proving {name} dead."] if wait else []


def _start_skin_over(turn: Turn, step: Step) -> list[str]:
    assert step.applies is not None
    product = turn.state.procedure.consumables[step.applies.consumable]
    if product.skin_over is None:
        return []
    lead = min(SKIN_OVER_LEAD, product.skin_over / 2)
    what = f"{product.name} skins over in {short(lead)}. Assemble now."
    open_time = product.skin_over
    warning = f"{skin_id(step.id)}:warning"
    set_deadline(turn, warning, Kind.SKIN_OVER_WARNING, what, open_time - lead, Priority.URGENT, step.id)
    what = f"{product.name} has skinned over. Do not assemble: clean it off and apply again."
    set_deadline(turn, skin_id(step.id), Kind.SKIN_OVER, what, open_time, Priority.URGENT, step.id)
    return [f"Assemble within {short(product.skin_over)}."]


def _start_cure(turn: Turn, step: Step) -> list[str]:
    applier = turn.state.procedure.step(step.assembles) if step.assembles else step
    assert applier.applies is not None
    product = turn.state.procedure.consumables[applier.applies.consumable]
    cure = cure_time(product, applier.applies.depth, turn.state.ambient_c)
    what = f"{product.name} has cured."
    set_deadline(turn, cure_id(step.id), Kind.CURE, what, cure.wait, Priority.ROUTINE, step.id)
    if not cure.lengthened_by:
        return [f"{product.name} cures for {short(cure.wait)}."]
    why = " and ".join(cure.lengthened_by)
    sheet = short(product.full_cure)
    return [f"{product.name} cures for {short(cure.wait)}, longer than the data sheet's {sheet}: {why}."]
