"""What the commands that plan share: when the work starts, and the shop's hours."""

from collections.abc import Collection
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.errors import LabourError

if TYPE_CHECKING:
    from companion.labour.table.hours import Hours
    from companion.procedure.model import Procedure

USUAL_HOURS = "Mon-Fri 08:00-12:00,13:00-17:00"

FIRST, LAST = 1970, 2900
"""Years that a plan may begin in; it goes on for some, and no calendar goes beyond 9999."""

start_option = click.option(
    "--start", metavar="'2031-03-04 09:00'", help="When work can begin, in the time of the shop."
)
hours_option = click.option(
    "--hours",
    metavar="TEXT",
    help="The shop's working hours; a ';' between days of different hours. By default those of 'companion "
    "shop', or Mon-Fri 08:00-12:00,13:00-17:00.",
)
closed_option = click.option(
    "--closed",
    type=options.Day(),
    multiple=True,
    metavar="2031-04-14",
    help="A day on which nobody works. May be repeated.",
)


def start_of(text: str | None) -> datetime:
    """The moment that is written, in the time of the shop. By default it is the next minute.

    Raises:
        LabourError: it is not a moment.
    """
    from companion.labour.table.hours import SHOP_TIME, later

    if text is None:
        return later(datetime.now(SHOP_TIME).replace(second=0, microsecond=0), 60)
    try:
        moment = datetime.fromisoformat(text.strip())
        if not FIRST <= moment.year <= LAST:
            raise ValueError
    except ValueError:
        raise LabourError(f"--start {text!r} is not a moment; write it like '2031-03-04 09:00'") from None
    return moment.replace(tzinfo=SHOP_TIME) if moment.tzinfo is None else moment.astimezone(SHOP_TIME)


def hours_of(text: str | None, logs: Path, closed: Collection[date] = ()) -> "Hours":
    """The shop's hours: those given, those it said, or the usual ones.

    Raises:
        LabourError: the hours are not written as they should be.
    """
    from companion.labour.table.hours import Hours
    from companion.labour.table.shop import shop_of

    shop = shop_of(logs)
    written = (shop.hours or USUAL_HOURS) if text is None else text
    return Hours.parse(written, [*shop.closed, *closed])


def left_of(
    job: str, logs: Path, begin: datetime
) -> tuple["Procedure", frozenset[str], dict[str, timedelta]]:
    """What a job was begun with, which optional steps it wants, and how long before `begin` each step ended.

    Raises:
        LogbookError: there is no such job, or its log cannot be used.
        LabourError: it is closed.
    """
    from companion.work.opening import read_job

    state = read_job(job, logs)
    if state.closed:
        raise LabourError(f"{job} is closed, so nothing of it is left; name a job that is open")
    ended = {s.step: begin - s.at for s in state.settled.values()}
    return state.procedure, frozenset(state.wanted), ended
