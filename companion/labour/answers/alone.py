"""What extra work would need as a job of its own, guessed from the procedure it is part of."""

from collections.abc import Iterator, Set

from companion.procedure.model import Act, Procedure, Step
from companion.procedure.order import Order


def steps_alone(procedure: Procedure, wanted: Set[str]) -> tuple[str, ...]:
    """Ids, in order, of the steps that the wanted optional steps would need if nothing else were done.

    All that must come before them; the steps that close, restore or renew what those open, isolate or
    disturb; and what is cleaned and applied for that. A guess: the procedure does not say what could be left
    on for the extra work alone.
    """
    order = Order(procedure)
    own = [s for s in order.steps if order.conditions(s.id) and order.conditions(s.id) <= wanted]
    ids = {s.id for s in own}
    up_to = [
        s for s in order.steps if not order.conditions(s.id) and any(order.before(s.id, one) for one in ids)
    ]
    touched = set().union(*(_touched(s) for s in [*up_to, *own]))
    rest = [s for s in order.steps if s not in up_to and s not in own and not order.conditions(s.id)]
    closing = [s for s in rest if touched & _made_good(s)]
    prepared = [
        s
        for s in rest
        if s.act in (Act.CLEAN, Act.APPLY) and any(order.before(s.id, last.id) for last in closing)
    ]
    needed = {s.id for s in [*up_to, *own, *closing, *prepared]}
    return tuple(s.id for s in order.steps if s.id in needed)


def _touched(step: Step) -> frozenset[str]:
    return frozenset(_given(*step.opens, step.isolates, *step.disturbs))


def _made_good(step: Step) -> frozenset[str]:
    return frozenset(_given(*step.closes, step.restores, *step.renews))


def _given(*ids: str | None) -> Iterator[str]:
    return (id_ for id_ in ids if id_ is not None)
