"""`companion hours`: who was there on which day, and for what, for the payroll's own program."""

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.cli.labour import asked
from companion.cli.labour.tables import show_line, show_table
from companion.errors import LabourError, LogbookError
from companion.extras import Extra
from companion.harmless import one_line
from companion.procedure.nouns import several

if TYPE_CHECKING:
    from companion.labour.answers.presence import PersonDay
    from companion.labour.table.hours import Hours
    from companion.labour.table.spells import Spell

_HEADS = ("Person", "Day", "From", "To", "Present", "Active", "Waiting", "Interrupted", "Between steps")


@click.command(
    epilog="Examples: companion hours --from 2031-03-01 --until 2031-03-31 --csv march.csv; "
    "companion hours --mechanic Ana --parquet ana.parquet"
)
@click.option("--from", "since", type=options.Day(), metavar="DATE", help="The first day.")
@click.option("--until", type=options.Day(), metavar="DATE", help="The last day.")
@click.option("--mechanic", default="", metavar="NAME", help="Of one person, whatever the capitals.")
@click.option("--csv", "csv_file", type=options.NewPage(), metavar="FILE", help="Write it as CSV.")
@click.option("--parquet", type=options.NewPage(), metavar="FILE", help="Write it as Parquet.")
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(
    since: date | None,
    until: date | None,
    mechanic: str,
    csv_file: Path | None,
    parquet: Path | None,
    logs: Path,
    as_json: bool,
) -> None:
    """Hours by person and day: present, and of that active, waiting, interrupted and between steps.

    Present is while the companion runs on a job; the four parts add up to it. Two jobs at once count once.
    Where 'companion shop --hours' is said, nights in which nothing happened are left out. It tells what the
    companion saw, not when somebody came and went.
    """
    from companion.labour.answers.presence import as_csv, as_parquet, person_days
    from companion.labour.model.fitted import same_name
    from companion.labour.table.shop import shop_of

    trouble: list[str] = []
    found = list(_spells(logs, shop_of(logs).open_hours, trouble))
    if trouble:
        more = f" (and {len(trouble) - 1} more)" if len(trouble) > 1 else ""
        click.echo(f"companion: warning: left out: {one_line(trouble[0])}{more}", err=True)
    rows = [
        row
        for row in person_days(found)
        if (since or row.day) <= row.day <= (until or row.day)
        and (not mechanic.strip() or same_name(row.person, mechanic))
    ]
    if mechanic.strip() and not rows:
        raise LabourError(f"no hours of {mechanic!r} are logged in {logs} on those days")
    if csv_file is not None:
        asked.write(csv_file, as_csv(rows))
    if parquet is not None:
        asked.write(parquet, as_parquet(rows))
    if as_json:
        for row in rows:
            click.echo(json.dumps(_data(row), ensure_ascii=False))
        return
    _show(rows)
    for file in filter(None, (csv_file, parquet)):
        click.echo(f"Written: {file}")


def _spells(logs: Path, opening: "Hours | None", trouble: list[str]) -> "Iterator[Spell]":
    """Those of all jobs; a log that cannot be read goes to `trouble`, whole."""
    from companion.labour.table.spells import spells
    from companion.logbook.jobs import list_jobs, timed

    for job in list_jobs(logs):
        try:
            if job.trouble:
                raise LogbookError(job.trouble)
            yield from list(spells(timed(logs / f"{job.job}.jsonl"), opening))
        except LogbookError as error:
            trouble.append(str(error))


def _show(rows: "list[PersonDay]") -> None:
    if not rows:
        show_line("No hours are logged.")
        return
    told = [
        (
            one_line(row.person) or "not told",
            f"{row.day:%Y-%m-%d}",
            _local(row.first),
            _local(row.last),
            *(f"{part:.2f}" for part in _parts(row)),
        )
        for row in rows
    ]
    show_table(_HEADS, told, "Hours by person and day, in the time of the shop", words=0)
    for name in dict.fromkeys(row.person for row in rows):
        days = [row for row in rows if row.person == name]
        present, active, *_ = (sum(column, Decimal(0)) for column in zip(*map(_parts, days), strict=True))
        show_line(
            f"{one_line(name) or 'Not told'}: {several(len(days), 'day')}, {present:.2f} h present, "
            f"{active:.2f} h of it active."
        )


def _parts(row: "PersonDay") -> tuple[Decimal, ...]:
    return row.present_h, row.active_h, row.waiting_h, row.interrupted_h, row.between_h


def _local(moment: datetime) -> str:
    return f"{moment.replace(tzinfo=UTC).astimezone():%H:%M}"


def _data(row: "PersonDay") -> dict[str, object]:
    hours = ("present_h", "active_h", "waiting_h", "interrupted_h", "between_h")
    return {
        "person": row.person,
        "day": row.day.isoformat(),
        "first": row.first.replace(tzinfo=UTC).isoformat(),
        "last": row.last.replace(tzinfo=UTC).isoformat(),
        **{name: float(part) for name, part in zip(hours, _parts(row), strict=True)},
    }
