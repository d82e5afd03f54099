"""Which closing a step belongs to: its own, the one it prepares, or the one that it ends."""

from collections.abc import Iterator
from typing import NamedTuple

from companion.procedure.model import Act, Step
from companion.procedure.order import Order


class Closing(NamedTuple):
    """An item and the step that closes it."""

    item: str
    step: str


def closings(order: Order) -> dict[str, frozenset[Closing]]:
    """For each step, the closings that it belongs to.

    That is what it closes; the joints of the seals it renews; what is closed on the product it applies. A
    step that fits, applies or tightens and does none of this belongs to the nearest closing: a tightening to
    the one before it, the others to the one after it.
    """
    return {step.id: frozenset(_of(order, step)) for step in order.steps}


def _of(order: Order, step: Step) -> Iterator[Closing]:
    plain = step.act in (Act.FIT, Act.APPLY, Act.TIGHTEN)
    for closing in (*_own(step), *_of_its_seals(order, step), *_of_its_product(order, step)):
        plain = False
        yield closing
    nearest = _nearest(order, step) if plain else None
    if nearest:
        yield from _own(nearest)


def _own(step: Step) -> Iterator[Closing]:
    return (Closing(item, step.id) for item in step.closes)


def _of_its_seals(order: Order, step: Step) -> Iterator[Closing]:
    joints = {order.procedure.seals[seal].joint for seal in step.renews}
    for closer in order.steps if joints else ():
        if closer.id == step.id or order.before(step.id, closer.id):
            yield from (closing for closing in _own(closer) if closing.item in joints)


def _of_its_product(order: Order, step: Step) -> Iterator[Closing]:
    if step.applies:
        for assembling in order.steps:
            if assembling.assembles == step.id:
                yield from _own(assembling)


def _nearest(order: Order, step: Step) -> Step | None:
    closers = [other for other in order.steps if other.closes]
    if step.act is Act.TIGHTEN:
        return next((c for c in reversed(closers) if order.before(c.id, step.id)), None)
    return next((c for c in closers if order.before(step.id, c.id)), None)
