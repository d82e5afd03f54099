"""`companion choices extra`: extra work while it is off."""

import json
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion import extras
from companion.cli import options
from companion.cli.labour import asked
from companion.cli.labour.compared import show_times, time_data
from companion.cli.labour.tables import show_line
from companion.labour.answers.written import minutes

if TYPE_CHECKING:
    from companion.labour.answers.extra import Extra


@click.command(
    epilog="Example: companion choices extra procedures/sump-reseal.yaml --step remove-strainer --rate 75 "
    "--parts 6.40"
)
@options.procedure
@click.option("--step", "steps", multiple=True, required=True, metavar="STEP",
              help="Extra work: an optional step, with all that hangs on it. May be repeated.")  # fmt: skip
@click.option("--alone", metavar="STEP,STEP",
              help="All the steps that the extra work would need as a job of its own.")  # fmt: skip
@asked.rate_option
@click.option("--parts", metavar="PRICE", help="What the parts of the extra work cost, now or later.")
@asked.mechanic_option
@options.logs
@options.as_json
@options.needs(extras.Extra.LABOUR)
def command(
    procedure: Path,
    steps: tuple[str, ...],
    alone: str | None,
    rate: str | None,
    parts: str | None,
    mechanic: str,
    logs: Path,
    as_json: bool,
) -> None:
    """Extra work while it is off: what it adds to this job, and what it would cost later on its own.

    Without --alone it is assumed that on its own it needs all that leads up to it in this procedure, and all
    that closes up again what was opened for it.
    """
    from companion.labour.answers.extra import steps_alone, while_it_is_off
    from companion.labour.table.task import labour_of
    from companion.procedure.read import read_procedure

    hourly = asked.rate_of(rate)
    cost = Decimal() if parts is None else asked.price("--parts", parts)
    read = read_procedure(procedure)
    wanted = asked.wanted_steps(read, steps)
    needed = (
        asked.listed_tasks(read, alone, "--alone")
        if alone
        else asked.named_tasks(read, steps_alone(read, wanted))
    )
    fitted = asked.fitted_to(read, logs, mechanic)
    job = labour_of(read, frozenset())
    found = while_it_is_off(fitted, job, needed, rate=hourly, parts=cost, mechanic=mechanic)
    if as_json:
        click.echo(json.dumps(_extra_data(found), ensure_ascii=False))
        return
    rows = [("Now, while it is off", found.now), ("Later, as a job of its own", found.later)]
    show_times(rows, "Extra work", [found.added_cost, found.later_cost])
    shared = len(found.shared)
    assumed = "" if alone else " (assumed from the procedure; name them with --alone where that is wrong)"
    show_line(
        f"Now it saves {minutes(found.saved.mean)} min on the average: {shared} of the {len(needed)} "
        f"steps it would need on its own are done for this job anyway{assumed}."
    )
    if told := asked.rests_on(fitted, logs):
        show_line(told)


def _extra_data(found: "Extra") -> dict[str, Any]:
    return {
        **time_data("now", found.now),
        **time_data("later", found.later),
        **time_data("saved", found.saved),
        "shared": list(found.shared),
        "added_cost": None if found.added_cost is None else str(found.added_cost),
        "later_cost": None if found.later_cost is None else str(found.later_cost),
    }
