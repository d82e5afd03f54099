"""`companion minutes`: where work takes more than the book, and how often."""

import csv
import io
import json
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.cli.labour.asked import warn_of_faults, write
from companion.cli.labour.tables import show_line, show_table
from companion.errors import LabourError
from companion.extras import Extra
from companion.harmless import cell, one_line

if TYPE_CHECKING:
    from companion.labour.answers.minutes import Minutes

_BY = ("step", "procedure", "vehicle", "mechanic", "month")


@click.command(
    epilog="Examples: companion minutes; companion minutes --by month --title 'Sump reseal'; "
    "companion minutes --by step --vehicle 'red saloon' --since 2031-03-01"
)
@click.option(
    "--by", type=click.Choice(_BY), default="step", show_default=True, help="What minutes are summed over."
)
@click.option("--title", default="", metavar="TITLE", help="Only this procedure.")
@click.option("--vehicle", default="", metavar="TEXT", help="Only this vehicle.")
@click.option("--mechanic", default="", metavar="NAME", help="Only this mechanic.")
@click.option("--since", metavar="2031-03-01", help="Only from this day on.")
@click.option("--until", metavar="2031-03-31", help="Only up to this day.")
@click.option("--csv", "csv_file", type=options.NewPage(), metavar="FILE", help="Write it as CSV.")
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(
    by: str, title: str, vehicle: str, mechanic: str, since: str | None, until: str | None,
    csv_file: Path | None, logs: Path, as_json: bool,
) -> None:  # fmt: skip
    """Where the minutes over the book are, times how often, with the range of what can be known.

    Only finished steps with a book time count. Cars and conditions differ: it does not rate people.
    """
    from companion.labour.answers.minutes import Only, minutes
    from companion.labour.table.collect import collect

    only = Only(title, vehicle, mechanic, _day("--since", since), _day("--until", until))
    with collect(logs) as table:
        warn_of_faults(table)
        found = minutes(table, by, only)
    if csv_file is not None:
        write(csv_file, _as_csv(found))
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


def _day(option: str, text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return datetime.strptime(text.strip(), "%Y-%m-%d").date()
    except ValueError:
        raise LabourError(f"{option} {text!r} is not a day; write it like 2031-03-01") from None


def _min(length: timedelta) -> str:
    return f"{length.total_seconds() / 60:+.1f}"


def _plain(one: "Minutes") -> dict[str, object]:
    def m(length: timedelta | None) -> float | None:
        return None if length is None else round(length.total_seconds() / 60, 3)

    return {
        "of": one.of,
        "title": one.title,
        "jobs": one.jobs,
        "jobs_a_month": round(one.a_month, 3),
        "over_each_min": m(one.each),
        "over_each_low_min": m(one.low),
        "over_each_high_min": m(one.high),
        "over_a_month_min": m(one.over_a_month),
        "over_min": m(one.over),
    }


def _as_csv(found: "list[Minutes]") -> str:
    from companion.labour.answers.minutes import Minutes

    empty = Minutes("", "", 0, timedelta(), timedelta(), None, None, 0.0)
    out = io.StringIO()
    row = csv.writer(out).writerow
    row(_plain(empty))
    for one in found:
        row([cell(value) if isinstance(value, str) else value for value in _plain(one).values()])
    return out.getvalue()
