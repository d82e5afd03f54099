"""What the commands that plan share: when the work starts, the shop's hours, and what is sent out."""

from collections.abc import Collection
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

import click

from companion.errors import LabourError

if TYPE_CHECKING:
    from companion.labour.plan.away import PartAway
    from companion.labour.plan.hours import Hours
    from companion.procedure.model import Procedure

start_option = click.option(
    "--start", metavar="'2031-03-04 09:00'", help="When work can begin, in the time of the shop."
)
hours_option = click.option(
    "--hours",
    default="Mon-Fri 08:00-12:00,13:00-17:00",
    show_default=True,
    metavar="TEXT",
    help="The shop's working hours; a ';' between days of different hours.",
)
closed_option = click.option(
    "--closed", multiple=True, metavar="2031-04-14", help="A day on which nobody works. May be repeated."
)


def start_of(text: str | None) -> datetime:
    """The moment written, by default this minute; local time.

    Raises:
        LabourError: it is not a moment.
    """
    if text is None:
        return datetime.now().replace(second=0, microsecond=0) + timedelta(minutes=1)
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        raise LabourError(f"--start {text!r} is not a moment; write it like '2031-03-04 09:00'") from None
    return moment.replace(tzinfo=None) if moment.tzinfo is None else moment.astimezone().replace(tzinfo=None)


def hours_of(text: str, closed: Collection[str] = ()) -> "Hours":
    """The shop's hours.

    Raises:
        LabourError: they, or a day on which it is closed, are not written as they should be.
    """
    from companion.labour.plan.hours import Hours

    days = []
    for day in closed:
        try:
            days.append(datetime.strptime(day.strip(), "%Y-%m-%d").date())
        except ValueError:
            raise LabourError(f"--closed {day!r} is not a day; write it like 2031-04-14") from None
    return Hours.parse(text, days)


def sent_out(
    procedure: "Procedure", steps: Collection[str], wanted: frozenset[str], lead: timedelta, price: Decimal
) -> tuple["PartAway", tuple[str, ...]]:
    """The part that goes away for these steps, and the steps that can be done meanwhile.

    It goes after the last step that leads up to them and is needed back for the first that follows.

    Raises:
        LabourError: the procedure has no such step, or nothing comes before or after them.
    """
    from companion.cli.labour.asked import named_tasks
    from companion.labour.plan.away import PartAway
    from companion.procedure.order import Order

    named_tasks(procedure, steps)
    order = Order(procedure)
    others = [s for s in order.steps if s.id not in steps and order.conditions(s.id) <= wanted]
    before = [s.id for s in others if any(order.before(s.id, one) for one in steps)]
    after = [s.id for s in others if any(order.before(one, s.id) for one in steps)]
    if not before or not after:
        raise LabourError(
            "work is sent out between two steps of the job; these have none before or after them"
        )
    part = PartAway(
        what="part", after=before[-1], before=after[0], lead=lead, cost=float(price), instead_of=tuple(steps)
    )
    return part, tuple(s.id for s in others if s.id not in before and s.id not in after)
