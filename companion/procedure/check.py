"""Everything that makes a well-formed procedure wrong as work: names, order, ledger, isolation, cure.

Pure. `companion.procedure.read` turns each finding into a line with file, line and column.
"""

from companion.procedure.checks import cures, fasteners, isolation, ledger, names, seals, steps
from companion.procedure.fault import Fault
from companion.procedure.model import Procedure
from companion.procedure.order import Order


def find_faults(procedure: Procedure) -> tuple[Fault, ...]:
    """Every fault. While names are wrong or the steps run in a ring, only those: the rest hangs on them."""
    wrong_names = tuple(names.find(procedure))
    if wrong_names:
        return wrong_names
    order = Order(procedure)
    return tuple(
        fault
        for check in (steps, fasteners, ledger, seals, isolation, cures)
        for fault in check.find(procedure, order)
    )


def find_advice(procedure: Procedure) -> tuple[Fault, ...]:
    """What looks odd in a procedure without faults, but may be right."""
    return (*fasteners.advise(procedure), *cures.advise(procedure), *isolation.advise(procedure))
