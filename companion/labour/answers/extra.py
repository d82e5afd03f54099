"""Extra work while it is off: what it adds now, and what it would take later as a job of its own."""

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from companion.errors import LabourError
from companion.labour.answers.quote import money
from companion.labour.answers.ways import sum_of
from companion.labour.model.fitted import Fitted
from companion.labour.model.prediction import Prediction
from companion.labour.table.task import Task
from companion.procedure.model import Act, Procedure, Step
from companion.procedure.order import Order


@dataclass(frozen=True)
class Extra:
    """Extra work: what it takes now, while it is off, and later, as a job of its own."""

    now: Prediction
    """What it adds to this job."""
    later: Prediction
    """What it would take as a job of its own."""
    saved: Prediction
    """What is saved by doing it now."""
    shared: tuple[str, ...]
    """The ids of the steps that both jobs need. Done now, they are paid once."""
    added_cost: Decimal | None
    later_cost: Decimal | None
    """The mean time at the rate, and the parts. None without a rate."""


def while_it_is_off(
    fitted: Fitted,
    job: Sequence[Task],
    alone: Sequence[Task],
    *,
    rate: Decimal | None = None,
    parts: Decimal = Decimal(),
    mechanic: str = "",
) -> Extra:
    """What extra work adds to a job, and what it would take on its own.

    Args:
        alone: all steps that the extra work would need on its own, getting there and closing up included.
            Those that are also in `job` are shared: done now, they count once.

    Raises:
        LabourError: the extra work has no steps.
    """
    if not alone:
        raise LabourError("the extra work has no steps; name those it would need on its own")
    here = {(t.step, t.work) for t in job}
    added = [t for t in alone if (t.step, t.work) not in here]
    times = fitted.draw(alone, mechanic)
    later, now = times.sum(1), sum_of(times, alone, added)
    at_now = Prediction(np.sort(now), fitted.basis(added))
    at_later = Prediction(np.sort(later), fitted.basis(alone))
    return Extra(
        now=at_now,
        later=at_later,
        saved=Prediction(np.sort(later - now), fitted.basis(alone)),
        shared=tuple(t.step for t in alone if (t.step, t.work) in here),
        added_cost=cost_of(at_now, rate, parts),
        later_cost=cost_of(at_later, rate, parts),
    )


def cost_of(time: Prediction, rate: Decimal | None, parts: Decimal) -> Decimal | None:
    """The mean time at a rate, and the parts, to the cent. None without a rate."""
    if rate is None:
        return None
    hours = Decimal(f"{time.mean.total_seconds() / 3600:.4f}")
    return money(hours * rate + parts)


def steps_alone(procedure: Procedure, wanted: Set[str]) -> tuple[str, ...]:
    """The ids, in order, of all steps that the wanted optional steps would need on their own.

    These are the steps that must come before them; the steps that close, restore or renew what is opened,
    isolated or disturbed by then; and what is cleaned and applied for that. It is a guess: the procedure does
    not say what could be left on for the extra work alone.
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
