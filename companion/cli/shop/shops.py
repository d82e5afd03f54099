"""`companion shops`: shops compared, each against the book, on this machine or on a distributed engine."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.cli.labour import asked
from companion.cli.labour.tables import show_line, show_table
from companion.errors import LabourError
from companion.extras import Extra
from companion.harmless import one_line
from companion.labour.answers.written import csv_of, hours, off

if TYPE_CHECKING:
    from companion.labour.answers.shops import ShopRow

HEADS = (
    "title", "shop", "jobs", "mechanics", "active_h", "over_h", "ratio_seen", "ratio_expected", "ratio_low",
    "ratio_high",
)  # fmt: skip


@click.command(
    epilog="Examples: companion shops 'shops/*/logs'; "
    "companion shops tables/*.parquet --engine spark --master spark://host:7077"
)
@click.argument("places", nargs=-1, required=True, metavar="PLACE...")
@click.option("--title", metavar="TITLE", help="Only this procedure.")
@click.option(
    "--engine",
    type=click.Choice(["duckdb", "spark"]),
    default="duckdb",
    show_default=True,
    help="What answers. Spark needs the extra 'fleet' and Java 17.",
)
@click.option("--master", default="local[2]", show_default=True, metavar="URL", help="Where Spark runs.")
@click.option("--csv", "csv_file", type=options.NewPage(), metavar="FILE", help="Write it as CSV.")
@options.as_json
@options.needs(Extra.LABOUR)
def command(
    places: tuple[str, ...], title: str | None, engine: str, master: str, csv_file: Path | None, as_json: bool
) -> None:
    """Compare shops: how long their jobs take against the book, with the range of what can be known.

    A PLACE is a folder of job logs, a step table (.times/steps-N.parquet, copied anywhere), or a pattern of
    either. A shop of which little was seen stands near the others. Jobs and cars differ: it does not rate
    people.
    """
    from companion.labour.answers.shops import compare
    from companion.labour.table.fleet import Fleet, here, shop_tables

    with shop_tables(places) as tables:
        for one in tables:
            for fault in one.faults:
                click.echo(f"companion: warning: {one_line(f'{one.shop}: {fault}')}", err=True)
        with here(tables) if engine == "duckdb" else Fleet(tables, master) as engine_table:
            rows = compare(engine_table)
    if title is not None:
        known = sorted({row.title for row in rows})
        rows = [row for row in rows if row.title.casefold() == title.casefold()]
        if not rows:
            raise LabourError(f"no finished job on {title!r} in these shops; there are: {', '.join(known)}")
    if csv_file is not None:
        asked.write(csv_file, csv_of(HEADS, (_plain(row).values() for row in rows)))
    if as_json:
        for row in rows:
            click.echo(json.dumps(_plain(row), ensure_ascii=False))
        return
    for one_title in dict.fromkeys(row.title for row in rows):
        of_title = [row for row in rows if row.title == one_title]
        told = [
            (one_line(r.shop), str(r.jobs), str(r.mechanics), hours(r.active), off(r.seen), off(r.expected),
             f"{off(r.low)} to {off(r.high)}")
            for r in of_title
        ]  # fmt: skip
        heads = ("Shop", "Jobs", "Mechanics", "Active", "Seen", "Expected", "95 of 100")
        show_table(heads, told, f"{one_line(one_title)}: time against the book")
        click.echo()
    if not rows:
        show_line("No job with a finished step is logged there.")
    if csv_file is not None:
        click.echo(f"Written: {csv_file}")


def _plain(row: "ShopRow") -> dict[str, object]:
    in_hours = (row.active.total_seconds() / 3600, row.over.total_seconds() / 3600)
    numbers = (round(x, 4) for x in (*in_hours, row.seen, row.expected, row.low, row.high))
    return dict(zip(HEADS, (row.title, row.shop, row.jobs, row.mechanics, *numbers), strict=True))
