"""Choices about a job, from logged times: which way, what else while it is off, and whether to send out.

Both sides of a comparison are drawn for the same next cars and the same mechanic, so what they share (a
rusty car, a slow day) does not blur the difference.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from companion.errors import LabourError
from companion.labour.model.fitted import DRAWS_EACH, Fitted
from companion.labour.model.prediction import Prediction, Task

Array = NDArray[np.float64]


@dataclass(frozen=True)
class TwoWays:
    """Two ways of doing the same job, compared."""

    first: Prediction
    second: Prediction
    first_quicker: float
    """The probability that the first way takes less time on the next car."""
    saved: Prediction
    """Time of the second less time of the first; negative where the second is quicker."""
    not_by_lot: bool = False
    """Each way was timed in jobs of its own, and nobody drew lots which car goes which way."""

    @property
    def quicker(self) -> str:
        """ "first" or "second": the one with the smaller mean, because means are what adds up over jobs."""
        return "first" if self.first.mean <= self.second.mean else "second"

    @property
    def sure(self) -> float:
        """The probability that the quicker way is quicker on the next car."""
        return self.first_quicker if self.quicker == "first" else 1 - self.first_quicker


def compare(fitted: Fitted, first: Sequence[Task], second: Sequence[Task], mechanic: str = "") -> TwoWays:
    """Two lists of steps of one procedure; what is in both takes the same time in both."""
    union = _union(first, second)
    times = fitted.draw(union, mechanic)
    a, b = _sum(times, union, first), _sum(times, union, second)
    return TwoWays(
        first=Prediction(np.sort(a), fitted.basis(first)),
        second=Prediction(np.sort(b), fitted.basis(second)),
        first_quicker=float((a < b).mean() + 0.5 * (a == b).mean()),
        saved=Prediction(np.sort(b - a), fitted.basis(union)),
    )


def compare_procedures(
    first_fit: Fitted,
    first: Sequence[Task],
    second_fit: Fitted,
    second: Sequence[Task],
    mechanic: str = "",
) -> TwoWays:
    """Two procedures, each with a fit of its own; work that is in both takes the same time in both.

    Such shared work is drawn from the fit that has timed it more often. The cars are the same by rank: the
    slow cars of one fit are the slow cars of the other.
    """
    in_second = {(t.step, t.work) for t in second}
    shared = [t for t in first if (t.step, t.work) in in_second]
    kept = {(t.step, t.work) for t in shared}
    best = max(first_fit, second_fit, key=lambda fit: fit.basis(shared).jobs)
    both = _drawn(best, shared, mechanic, seed=3)
    a = _drawn(first_fit, [t for t in first if (t.step, t.work) not in kept], mechanic, seed=1)
    b = _drawn(second_fit, [t for t in second if (t.step, t.work) not in kept], mechanic, seed=2)
    fewer = min(first_fit.basis(first), second_fit.basis(second), key=lambda basis: basis.jobs)
    return TwoWays(
        first=Prediction(np.sort(a + both), first_fit.basis(first)),
        second=Prediction(np.sort(b + both), second_fit.basis(second)),
        first_quicker=float((a < b).mean() + 0.5 * (a == b).mean()),
        saved=Prediction(np.sort(b - a), fewer),
        not_by_lot=bool(first_fit.jobs and second_fit.jobs),
    )


@dataclass(frozen=True)
class Extra:
    """Extra work, done now or later."""

    now: Prediction
    """What it adds to this job."""
    later: Prediction
    """What it would take as a job of its own."""
    saved: Prediction
    """By doing it now."""
    shared: tuple[str, ...]
    """Ids of the steps that both jobs need, and that are paid once when it is done now."""
    added_cost: Decimal | None
    later_cost: Decimal | None
    """Mean time at the rate, and parts; None without a rate."""


def while_it_is_off(
    fitted: Fitted,
    job: Sequence[Task],
    alone: Sequence[Task],
    *,
    rate: Decimal | None = None,
    parts: Decimal = Decimal(),
    mechanic: str = "",
) -> Extra:
    """Extra work quoted at what it adds to `job`, and at what it would take as the job `alone`.

    `alone` lists all the steps the extra work would need on its own, getting there and closing up included.
    The steps that are also in `job` are shared: done now, they are counted once.
    """
    if not alone:
        raise LabourError("the extra work has no steps; name those it would need on its own")
    here = {(t.step, t.work) for t in job}
    added = [t for t in alone if (t.step, t.work) not in here]
    times = fitted.draw(alone, mechanic)
    later, now = times.sum(1), _sum(times, alone, added)
    at_now = Prediction(np.sort(now), fitted.basis(added))
    at_later = Prediction(np.sort(later), fitted.basis(alone))
    return Extra(
        now=at_now,
        later=at_later,
        saved=Prediction(np.sort(later - now), fitted.basis(alone)),
        shared=tuple(t.step for t in alone if (t.step, t.work) in here),
        added_cost=_cost(at_now, rate, parts),
        later_cost=_cost(at_later, rate, parts),
    )


@dataclass(frozen=True)
class SentOut:
    """Work that is sent out: the part is away for a while, which costs a price and no mechanic's time."""

    here: Prediction
    """The mechanic's time if it is done in the shop."""
    lead: timedelta
    """Until the part is back, as the calendar runs: a lag in the plan."""
    price: Decimal
    here_cost: Decimal
    """Mean time at the rate, and parts."""
    idle: timedelta
    """How much of the lead time other work on the job does not fill (mean)."""

    @property
    def bought(self) -> timedelta:
        """Mechanic's time set free (mean)."""
        return self.here.mean

    @property
    def saved(self) -> Decimal:
        """By sending out; negative when it costs more."""
        return self.here_cost - self.price

    def __str__(self) -> str:
        """What the wait buys, in one sentence."""
        hours = self.bought.total_seconds() / 3600
        days = self.lead / timedelta(days=1)
        word = "saves" if self.saved >= 0 else "costs"
        filled = (self.lead - self.idle).total_seconds() / 3600
        return (
            f"Waiting {days:g} days buys {hours:.1f} h of the mechanic's time and {word} "
            f"{abs(self.saved):.2f}; other work on the job fills {filled:.1f} h of the wait."
        )


def send_out(
    fitted: Fitted,
    work: Sequence[Task],
    meanwhile: Sequence[Task],
    *,
    lead: timedelta,
    price: Decimal,
    rate: Decimal,
    parts: Decimal = Decimal(),
    mechanic: str = "",
) -> SentOut:
    """What it means to send `work` out instead of doing it, with `meanwhile` as the steps of the job that do
    not depend on it. LabourError for a negative lead time, price or rate."""
    if lead < timedelta() or min(price, rate, parts) < 0:
        raise LabourError("lead time, price, rate and parts cannot be negative")
    if not work:
        raise LabourError("there is no work to send out; name its steps")
    here = fitted.total(work, mechanic)
    other = fitted.total(meanwhile, mechanic).mean if meanwhile else timedelta()
    cost = _cost(here, rate, parts)
    assert cost is not None
    return SentOut(here, lead, price, cost, max(timedelta(), lead - other))


def _union(first: Sequence[Task], second: Sequence[Task]) -> list[Task]:
    return list(dict.fromkeys([*first, *second]))


def _drawn(fitted: Fitted, tasks: Sequence[Task], mechanic: str, seed: int) -> Array:
    """Sums over possible jobs; no work takes no time."""
    if not tasks:
        return np.zeros(len(fitted.sigma) * DRAWS_EACH)
    return fitted.draw(tasks, mechanic, seed).sum(1)  # type: ignore[no-any-return]


def _sum(times: Array, tasks: Sequence[Task], some: Sequence[Task]) -> Array:
    where = {t: n for n, t in enumerate(tasks)}
    return times[:, [where[t] for t in some]].sum(1)  # type: ignore[no-any-return]


def _cost(time: Prediction, rate: Decimal | None, parts: Decimal) -> Decimal | None:
    if rate is None:
        return None
    hours = Decimal(f"{time.mean.total_seconds() / 3600:.4f}")
    return (hours * rate + parts).quantize(Decimal("0.01"))
