"""`companion choices`: which way, what else while it is off, and whether to send work out."""

import json
from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.cli import options
from companion.cli.labour import asked, planning
from companion.cli.labour.tables import show_line, show_table
from companion.errors import LabourError
from companion.labour.answers.written import minutes

if TYPE_CHECKING:
    from companion.labour.answers.away import SentOut
    from companion.labour.answers.extra import Extra
    from companion.labour.answers.ways import TwoWays
    from companion.labour.model.prediction import Prediction
    from companion.procedure.model import Procedure


@click.group(
    epilog="Examples: companion choices ways out.yaml in-place.yaml; companion choices extra "
    "procedures/sump-reseal.yaml --step remove-strainer; companion choices away "
    "procedures/coolant-pump.yaml --step scrape-faces --days 5 --price 80 --rate 75"
)
def command() -> None:
    """Choices about a job, from logged times: two ways, extra work while it is off, work sent out."""


@command.command(
    epilog="Examples: companion choices ways out.yaml in-place.yaml; companion choices ways job.yaml "
    "--first remove-fan,undo-bolt,fit-fan --second undo-bolt-in-place"
)
@click.argument("first", type=click.Path(path_type=Path), metavar="FIRST.yaml")
@click.argument("second", type=click.Path(path_type=Path), metavar="[SECOND.yaml]", required=False)
@click.option("--first", "first_steps", metavar="STEP,STEP", help="The steps of the first way.")
@click.option("--second", "second_steps", metavar="STEP,STEP", help="The steps of the second way.")
@asked.mechanic_option
@options.logs
@options.as_json
def ways(
    first: Path,
    second: Path | None,
    first_steps: str | None,
    second_steps: str | None,
    mechanic: str,
    logs: Path,
    as_json: bool,
) -> None:
    """Two ways of doing the same job: which is quicker, how likely, and by how much.

    Two procedures, or two lists of steps of one. What both have in common takes the same time in both.
    """
    from companion.labour.answers.ways import compare, compare_procedures
    from companion.labour.table.task import labour_of
    from companion.procedure.read import read_procedure

    if second is None and (first_steps is None or second_steps is None):
        raise click.UsageError("name two procedures, or one with --first and --second lists of its steps")
    one = read_procedure(first)
    other = one if second is None else read_procedure(second)
    none: frozenset[str] = frozenset()
    a = labour_of(one, none) if first_steps is None else _listed(one, first_steps, "--first")
    b = labour_of(other, none) if second_steps is None else _listed(other, second_steps, "--second")
    fitted = asked.fitted_to(one, logs, mechanic)
    if other.title == one.title:
        found = compare(fitted, a, b, mechanic)
        unknown = [asked.rests_on(fitted, logs)]
    else:
        fitted_other = asked.fitted_to(other, logs, mechanic)
        found = compare_procedures(fitted, a, fitted_other, b, mechanic)
        unknown = [asked.rests_on(fitted, logs), asked.rests_on(fitted_other, logs)]
    names = (
        ("first", "second") if second is None else (asked.harmless(first.stem), asked.harmless(second.stem))
    )
    if as_json:
        click.echo(json.dumps(_ways_data(found, names), ensure_ascii=False))
        return
    _show_times([(names[0], found.first), (names[1], found.second)], "Two ways")
    low, high = found.saved.interval(0.8)
    quicker = names[0] if found.quicker == "first" else names[1]
    if found.quicker == "second":
        low, high = -high, -low
    saved = abs(found.saved.mean)
    show_line(
        f"{quicker} is quicker by {minutes(saved)} min on the average, and on the next car with a "
        f"chance of {_chance(found.sure)}. In eight cars of ten the difference is from {_signed(low)} to "
        f"{_signed(high)} min."
    )
    if found.not_by_lot:
        show_line(
            "Each way was timed in jobs of its own, and which car went which way was not drawn by lot: "
            "if the easy cars went one way, that is part of the difference."
        )
    for told in filter(None, unknown):
        show_line(told)


@command.command(
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
def extra(
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
    needed = _listed(read, alone, "--alone") if alone else asked.named_tasks(read, steps_alone(read, wanted))
    fitted = asked.fitted_to(read, logs, mechanic)
    job = labour_of(read, frozenset())
    found = while_it_is_off(fitted, job, needed, rate=hourly, parts=cost, mechanic=mechanic)
    if as_json:
        click.echo(json.dumps(_extra_data(found), ensure_ascii=False))
        return
    rows = [("Now, while it is off", found.now), ("Later, as a job of its own", found.later)]
    _show_times(rows, "Extra work", [found.added_cost, found.later_cost])
    shared = len(found.shared)
    assumed = "" if alone else " (assumed from the procedure; name them with --alone where that is wrong)"
    show_line(
        f"Now it saves {minutes(found.saved.mean)} min on the average: {shared} of the {len(needed)} "
        f"steps it would need on its own are done for this job anyway{assumed}."
    )
    if told := asked.rests_on(fitted, logs):
        show_line(told)


@command.command(
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
def away(
    procedure: Path,
    steps: tuple[str, ...],
    days: float,
    price: str,
    rate: str,
    parts: str | None,
    wanted: tuple[str, ...],
    mechanic: str,
    start: str | None,
    hours: str,
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
    begin, opening = planning.start_of(start), planning.hours_of(hours)
    part, beside = planning.sent_out(read, steps, optional, lead, charged)
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


def _listed(procedure: "Procedure", text: str, option: str) -> tuple[Any, ...]:
    """Steps of a list; LabourError when it is empty."""
    found = asked.named_tasks(procedure, asked.ids_of(text))
    if not found:
        raise LabourError(f"{option} {text!r} names no work; give step ids with commas between them")
    return found


def _chance(part: float) -> str:
    """Nothing that is drawn from possible jobs is certain."""
    return "over 99 %" if part >= 0.995 else f"{100 * part:.0f} %"


def _signed(length: timedelta) -> str:
    return f"{length.total_seconds() / 60:+.1f}"


def _show_times(
    rows: Sequence[tuple[str, "Prediction"]], title: str, costs: Sequence[Decimal | None] = ()
) -> None:
    told = []
    for n, (name, time) in enumerate(rows):
        low, high = time.interval(0.8)
        cost = costs[n] if n < len(costs) else None
        told.append(
            (name, minutes(time.mean), f"{minutes(low)} to {minutes(high)}")
            + (() if not any(c is not None for c in costs) else (f"{cost:.2f}",))
            + (str(time.basis),)
        )
    cost_head = ("Price",) if any(c is not None for c in costs) else ()
    show_table(("", "Mean", "8 of 10", *cost_head, "Rests on"), told, f"{title}: minutes of active time")


def _time_data(name: str, time: "Prediction") -> dict[str, float | str]:
    at = {"p10": 0.1, "p50": 0.5, "p80": 0.8, "p90": 0.9, "p95": 0.95}
    found: dict[str, float | str] = {
        f"{name}_{p}_s": round(time.quantile(q).total_seconds(), 1) for p, q in at.items()
    }
    return {f"{name}_mean_s": round(time.mean.total_seconds(), 1), **found, f"{name}_basis": str(time.basis)}


def _ways_data(found: "TwoWays", names: tuple[str, str]) -> dict[str, Any]:
    return {
        "first": names[0],
        "second": names[1],
        "quicker": found.quicker,
        "sure": round(found.sure, 4),
        "not_by_lot": found.not_by_lot,
        **_time_data("first", found.first),
        **_time_data("second", found.second),
        **_time_data("saved", found.saved),
    }


def _extra_data(found: "Extra") -> dict[str, Any]:
    return {
        **_time_data("now", found.now),
        **_time_data("later", found.later),
        **_time_data("saved", found.saved),
        "shared": list(found.shared),
        "added_cost": None if found.added_cost is None else str(found.added_cost),
        "later_cost": None if found.later_cost is None else str(found.later_cost),
    }


def _away_data(found: "SentOut") -> dict[str, Any]:
    return {
        **_time_data("here", found.here),
        "here_cost": str(found.here_cost),
        "price": str(found.price),
        "saved": str(found.saved),
        "lead_s": found.lead.total_seconds(),
        "idle_s": round(found.idle.total_seconds(), 1),
    }
