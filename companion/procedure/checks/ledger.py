"""Everything opened is closed, by a step that surely comes later."""

from collections.abc import Iterator

from companion.procedure.checks.alternation import broken_rounds, deeds_on
from companion.procedure.fault import Fault
from companion.procedure.model import Procedure
from companion.procedure.order import Order

ACTS = ("opens", "closes")


def find(_procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Items opened and not closed, closed and not opened, or in no sure order."""
    for name, deeds in deeds_on(order, ACTS).items():
        yield from broken_rounds(order, name, deeds, ACTS)
