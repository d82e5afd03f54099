"""`companion minutes`: where work takes more than the book, and how often."""

import json
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.cli.labour.asked import warn_of_faults, write
from companion.cli.labour.tables import show_line, show_table
from companion.extras import Extra
from companion.harmless import one_line
from companion.labour.answers.written import csv_of
from companion.labour.table.columns import MINUTES_BY

if TYPE_CHECKING:
    from companion.labour.answers.minutes import Minutes

HEADS = (
    "of", "title", "jobs", "jobs_a_month", "over_each_min", "over_each_low_min", "over_each_high_min",
    "over_a_month_min", "over_min",
)  # fmt: skip


@click.command(
    epilog="Examples: companion minutes; companion minutes --by month --title 'Sump reseal'; "
    "companion minutes --by step --vehicle 'red saloon' --since 2031-03-01"
)
@click.option(
    "--by",
    type=click.Choice(list(MINUTES_BY)),
    default="step",
    show_default=True,
    help="What minutes are summed over.",
)
@click.option("--title", default="", metavar="TITLE", help="Only this procedure.")
@click.option("--vehicle", default="", metavar="TEXT", help="Only this vehicle.")
@click.option("--mechanic", default="", metavar="NAME", help="Only this mechanic.")
@click.option("--since", type=options.Day(), metavar="2031-03-01", help="Only from this day on.")
@click.option("--until", type=options.Day(), metavar="2031-03-31", help="Only up to this day.")
@click.option("--csv", "csv_file", type=options.NewPage(), metavar="FILE", help="Write it as CSV.")
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(
    by: str, title: str, vehicle: str, mechanic: str, since: date | None, until: date | None,
    csv_file: Path | None, logs: Path, as_json: bool,
) -> None:  # fmt: skip
    """Where the minutes over the book are, times how often, with the range of what can be known.

    Only finished steps with a book time count. Cars and conditions differ: it does not rate people.
    """
    from companion.labour.answers.minutes import Only, minutes
    from companion.labour.table.collect import collect

    only = Only(title, vehicle, mechanic, since, until)
    with collect(logs) as table:
        warn_of_faults(table)
        found = minutes(table, by, only)
    if csv_file is not None:
        write(csv_file, csv_of(HEADS, (_plain(one).values() for one in found)))
    if as_json:
        for one in found:
            click.echo(json.dumps(_plain(one), ensure_ascii=False))
        return
    if not found:
        show_line(f"No finished step like that is logged in {logs}.")
        return
    rows = [
        (
            one_line(one.of or "not told"),
            str(one.jobs),
            f"{one.a_month:.1f}",
            _min(one.each),
            "" if one.low is None or one.high is None else f"{_min(one.low)} to {_min(one.high)}",
            _min(one.over_a_month),
            _min(one.over),
            one_line(one.title),
        )
        for one in found
    ]
    heads = (by.capitalize(), "Jobs", "A month", "Over, each", "95 of 100", "Over, a month", "Over, all", "")
    show_table(heads, rows, f"Minutes over the book, by {by}")
    if csv_file is not None:
        click.echo(f"Written: {csv_file}")


def _min(length: timedelta) -> str:
    return f"{length.total_seconds() / 60:+.1f}"


def _plain(one: "Minutes") -> dict[str, object]:
    def m(length: timedelta | None) -> float | None:
        return None if length is None else round(length.total_seconds() / 60, 3)

    over = map(m, (one.each, one.low, one.high, one.over_a_month, one.over))
    return dict(zip(HEADS, (one.of, one.title, one.jobs, round(one.a_month, 3), *over), strict=True))
