"""Everything that makes a well-formed procedure wrong as work: names, order, ledger, isolation, cure.

Pure. `companion.procedure.read` turns each finding into a line with file, line and column.
"""

from collections.abc import Callable, Iterator
from types import ModuleType

from companion.procedure.checks import (
    cures,
    fasteners,
    holds,
    isolation,
    ledger,
    names,
    review_marks,
    seals,
    steps,
)
from companion.procedure.checks.across import (
    acts,
    bench,
    curing,
    needs,
    proofs,
    refit,
    sealing,
    states,
    tightening,
)
from companion.procedure.checks.words import about, counts, deeds, ear, limits, marks, sides, sizes, wording
from companion.procedure.checks.words import torques as said_torques
from companion.procedure.fault import Fault, Rule, Severity
from companion.procedure.model import Procedure
from companion.procedure.order import Order
from companion.procedure.rules import bolts, energy, file, holding
from companion.procedure.rules import order as order_rules
from companion.procedure.rules import review_marks as question_rules
from companion.procedure.rules import seals as seal_rules

Look = Callable[[Procedure, Order], Iterator[Fault]]
SOUND: tuple[Look, ...] = (
    ledger.find,
    steps.find,
    fasteners.find,
    seals.find,
    isolation.find,
    cures.find,
)
"""What a job cannot be run without."""
ACROSS = (acts, bench, curing, needs, proofs, refit, sealing, states, tightening)
WORDS = (about, counts, deeds, ear, limits, marks, said_torques, sides, sizes, wording)
FURTHER: tuple[Look, ...] = (
    fasteners.look,
    cures.look,
    isolation.look,
    holds.look,
    review_marks.look,
    *(topic.find for topic in (*ACROSS, *WORDS)),
)
"""What is asked of a file before a job is begun with it."""
TOPICS: tuple[ModuleType, ...] = (
    *(file, order_rules, holding, energy, seal_rules, bolts, question_rules),
    *ACROSS,
    *WORDS,
)


OF_WORDS_AND_FIELDS = frozenset(
    one for topic in (*ACROSS, *WORDS) for one in vars(topic).values() if isinstance(one, Rule)
) - {marks.TODO}
"""Rules that judge what is written; a job can be run without regard to them."""


def rules() -> dict[str, Rule]:
    """Every rule by its code."""
    found = (one for topic in TOPICS for one in vars(topic).values() if isinstance(one, Rule))
    return {rule.code: rule for rule in found}


def find_faults(procedure: Procedure, *, kept: bool = False) -> tuple[Fault, ...]:
    """Every error. While names are wrong or the steps run in a ring, only those: the rest hangs on them.

    A procedure kept beside the log of a job was without fault when the job was begun. What is asked of files
    since then is not asked of it: the gates make up for it, on the safe side.
    """
    return tuple(fault for fault in find_all(procedure, kept=kept) if fault.rule.severity is Severity.ERROR)


def find_advice(procedure: Procedure) -> tuple[Fault, ...]:
    """What looks odd in it, but may be right."""
    return tuple(fault for fault in find_all(procedure) if fault.rule.severity is Severity.ADVICE)


def find_all(procedure: Procedure, *, kept: bool = False) -> tuple[Fault, ...]:
    """All that is wrong or odd. While the ledger is unclear, what holds what back is not asked."""
    wrong_names = tuple(names.find(procedure))
    if any(fault.rule is not order_rules.UNUSED for fault in wrong_names) or (kept and wrong_names):
        return wrong_names
    order = Order(procedure)
    unclear = tuple(ledger.find(procedure, order))
    since = () if kept else FURTHER if unclear else (holds.find, *FURTHER)
    found = (fault for look in (*SOUND, *since) for fault in look(procedure, order))
    return (*wrong_names, *(fault for fault in found if not _asked(procedure, fault)))


def _asked(procedure: Procedure, fault: Fault) -> bool:
    """Is it about something that is known to be unfinished, because a question of its own stands there?"""
    match fault.path:
        case ("steps", int(position), *rest):
            open_ = bool(procedure.steps[position].review) and "review" not in rest
        case ("energy", str(name), *rest) if name in procedure.energy:
            open_ = bool(procedure.energy[name].review) and "review" not in rest
        case _:
            open_ = False
    return open_ and fault.rule in OF_WORDS_AND_FIELDS
