"""Everything that makes a well-formed procedure wrong as work: names, order, ledger, isolation, cure.

Pure. `companion.procedure.read` turns each finding into a line with file, line and column.
"""

from companion.procedure.checks import cures, fasteners, holds, isolation, ledger, names, seals, steps
from companion.procedure.fault import Fault
from companion.procedure.model import Procedure
from companion.procedure.order import Order


def find_faults(procedure: Procedure, *, kept: bool = False) -> tuple[Fault, ...]:
    """Every fault. While names are wrong or the steps run in a ring, only those: the rest hangs on them.

    A procedure kept beside the log of a job was without fault when the job was begun. What is asked of files
    since then is not asked of it: the gates make up for it, on the safe side. While the ledger is unclear
    that is not asked at all.
    """
    wrong_names = tuple(names.find(procedure))
    if wrong_names:
        return wrong_names
    order = Order(procedure)
    unclear = tuple(ledger.find(procedure, order))
    since = () if kept or unclear else (holds,)
    others = (
        fault
        for check in (steps, fasteners, seals, isolation, cures, *since)
        for fault in check.find(procedure, order)
    )
    return (*unclear, *others)


def find_advice(procedure: Procedure) -> tuple[Fault, ...]:
    """What looks odd in a procedure without faults, but may be right."""
    return tuple(
        advice for check in (fasteners, cures, isolation, holds) for advice in check.advise(procedure)
    )
