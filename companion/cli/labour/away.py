"""`companion choices away`: work that is sent out."""

import json
from collections.abc import Collection
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.cli import options
from companion.cli.labour import asked, planning
from companion.cli.labour.compared import time_data
from companion.cli.labour.tables import show_line
from companion.errors import LabourError
from companion.extras import Extra

if TYPE_CHECKING:
    from companion.labour.answers.away import SentOut
    from companion.labour.plan.away import PartAway
    from companion.procedure.model import Procedure


@click.command(
    epilog="Example: companion choices away procedures/coolant-pump.yaml --step scrape-faces --step "
    "inspect-face --days 5 --price 80 --rate 75 --start '2031-03-04 09:00'"
)
@options.procedure
@click.option("--step", "steps", multiple=True, required=True, metavar="STEP",
              help="A step that need not be done here then. May be repeated.")  # fmt: skip
@click.option("--days", type=float, required=True, metavar="DAYS", help="Until the part is back.")
@click.option("--price", required=True, metavar="PRICE", help="What the others ask.")
@click.option("--rate", required=True, metavar="PRICE", help="Labour rate: the price of an hour here.")
@click.option("--parts", metavar="PRICE", help="What the parts cost if it is done here.")
@asked.wanted_option
@asked.mechanic_option
@planning.start_option
@planning.hours_option
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(
    procedure: Path,
    steps: tuple[str, ...],
    days: float,
    price: str,
    rate: str,
    parts: str | None,
    wanted: tuple[str, ...],
    mechanic: str,
    start: str | None,
    hours: str | None,
    logs: Path,
    as_json: bool,
) -> None:
    """Work sent out: what a wait at a price buys, and with --start when the job ends either way."""
    if not 0 < days <= 365:
        raise LabourError(f"--days {days:g} makes no sense; give the days until the part is back, up to 365")
    lead = timedelta(days=days)
    charged, hourly = asked.price("--price", price), asked.price("--rate", rate)
    cost = Decimal() if parts is None else asked.price("--parts", parts)
    from companion.labour.answers.away import send_out
    from companion.labour.plan.away import what_it_buys
    from companion.labour.plan.finish import expected_times
    from companion.labour.plan.project_of import project_of
    from companion.procedure.read import read_procedure

    read = read_procedure(procedure)
    optional = asked.wanted_steps(read, wanted)
    work = asked.named_tasks(read, steps)
    begin, opening = planning.start_of(start), planning.hours_of(hours, logs)
    part, beside = _sent_out(read, steps, optional, lead, charged)
    fitted = asked.fitted_to(read, logs, mechanic)
    meanwhile = asked.named_tasks(read, beside)
    found = send_out(
        fitted, work, meanwhile, lead=lead, price=charged, rate=hourly, parts=cost, mechanic=mechanic
    )
    bought = None
    if start is not None:
        project = project_of(read, expected_times(read, fitted, mechanic), wanted=optional)
        bought = what_it_buys(project, part, begin, opening)
    if as_json:
        data = _away_data(found)
        if bought is not None:
            data |= {
                "finish_here": bought.here.finish.isoformat(),
                "finish_away": bought.away.finish.isoformat(),
            }
        click.echo(json.dumps(data, ensure_ascii=False))
        return
    show_line(str(found))
    if bought is not None:
        show_line(str(bought))
    show_line(f"Rests on: {found.here.basis}.")
    if told := asked.rests_on(fitted, logs):
        show_line(told)


def _sent_out(
    procedure: "Procedure", steps: Collection[str], wanted: frozenset[str], lead: timedelta, price: Decimal
) -> tuple["PartAway", tuple[str, ...]]:
    """The part that goes away for these steps, and the steps that can be done meanwhile.

    It goes after the last step that leads up to them and is needed back for the first that follows.

    Raises:
        LabourError: the procedure has no such step, or nothing comes before or after them.
    """
    from companion.labour.plan.away import PartAway
    from companion.procedure.order import Order

    asked.named_tasks(procedure, steps)
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


def _away_data(found: "SentOut") -> dict[str, Any]:
    return {
        **time_data("here", found.here),
        "here_cost": str(found.here_cost),
        "price": str(found.price),
        "saved": str(found.saved),
        "lead_s": found.lead.total_seconds(),
        "idle_s": round(found.idle.total_seconds(), 1),
    }
