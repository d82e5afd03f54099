"""Work that is sent out: what a wait at a price buys."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from companion.errors import LabourError
from companion.labour.answers.extra import cost_of
from companion.labour.model.fitted import Fitted
from companion.labour.model.prediction import Prediction
from companion.labour.table.task import Task


@dataclass(frozen=True)
class SentOut:
    """Work that is sent out: the part is away for a while, at a price, and no mechanic works on it."""

    here: Prediction
    """The mechanic's time, if it is done in the shop."""
    lead: timedelta
    """How long the part is away, by the calendar: a lag in the plan."""
    price: Decimal
    here_cost: Decimal
    """The mean time at the rate, and the parts."""
    idle: timedelta
    """How much of that other work on the job does not fill, on the average."""

    @property
    def bought(self) -> timedelta:
        """The mechanic's time that is set free, on the average."""
        return self.here.mean

    @property
    def saved(self) -> Decimal:
        """What sending out saves. It is negative where that costs more."""
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
    """What it means to send work out instead of doing it.

    Args:
        meanwhile: the steps of the job that do not depend on that work.

    Raises:
        LabourError: there is no work, or the lead time, a price or the rate is negative.
    """
    if lead < timedelta() or min(price, rate, parts) < 0:
        raise LabourError("lead time, price, rate and parts cannot be negative")
    if not work:
        raise LabourError("there is no work to send out; name its steps")
    here = fitted.total(work, mechanic)
    other = fitted.total(meanwhile, mechanic).mean if meanwhile else timedelta()
    cost = cost_of(here, rate, parts)
    assert cost is not None
    return SentOut(here, lead, price, cost, max(timedelta(), lead - other))
