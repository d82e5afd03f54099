"""`companion choices ways`: two ways of doing the same job."""

import json
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.cli import options
from companion.cli.labour import asked
from companion.cli.labour.compared import show_times, time_data
from companion.cli.labour.tables import show_line
from companion.extras import Extra
from companion.harmless import one_line
from companion.labour.answers.written import minutes

if TYPE_CHECKING:
    from companion.labour.answers.ways import TwoWays


@click.command(
    epilog="Examples: companion choices ways out.yaml in-place.yaml; companion choices ways job.yaml "
    "--first remove-fan,undo-bolt,fit-fan --second undo-bolt-in-place"
)
@click.argument("first", type=options.ProcedureFile(), metavar="FIRST")
@click.argument("second", type=options.ProcedureFile(), metavar="[SECOND]", required=False)
@click.option("--first", "first_steps", metavar="STEP,STEP", help="The steps of the first way.")
@click.option("--second", "second_steps", metavar="STEP,STEP", help="The steps of the second way.")
@asked.mechanic_option
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(
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
    a = labour_of(one, none) if first_steps is None else asked.listed_tasks(one, first_steps, "--first")
    b = (
        labour_of(other, none)
        if second_steps is None
        else asked.listed_tasks(other, second_steps, "--second")
    )
    fitted = asked.fitted_to(one, logs, mechanic)
    if other.title == one.title:
        found = compare(fitted, a, b, mechanic)
        unknown = [asked.rests_on(fitted, logs)]
    else:
        fitted_other = asked.fitted_to(other, logs, mechanic)
        found = compare_procedures(fitted, a, fitted_other, b, mechanic)
        unknown = [asked.rests_on(fitted, logs), asked.rests_on(fitted_other, logs)]
    names = ("first", "second") if second is None else (one_line(first.stem), one_line(second.stem))
    if as_json:
        click.echo(json.dumps(_ways_data(found, names), ensure_ascii=False))
        return
    show_times([(names[0], found.first), (names[1], found.second)], "Two ways")
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


def _chance(part: float) -> str:
    """A chance in words. Nothing that is drawn from possible jobs is certain."""
    return "over 99 %" if part >= 0.995 else f"{100 * part:.0f} %"


def _signed(length: timedelta) -> str:
    return f"{length.total_seconds() / 60:+.1f}"


def _ways_data(found: "TwoWays", names: tuple[str, str]) -> dict[str, Any]:
    return {
        "first": names[0],
        "second": names[1],
        "quicker": found.quicker,
        "sure": round(found.sure, 4),
        "not_by_lot": found.not_by_lot,
        **time_data("first", found.first),
        **time_data("second", found.second),
        **time_data("saved", found.saved),
    }
