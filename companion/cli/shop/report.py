"""`companion report`: the shop's report as one page."""

from pathlib import Path

import click

from companion.cli import options
from companion.cli.labour.asked import logged_title, warn_of_faults, write
from companion.cli.labour.tables import show_line
from companion.extras import Extra
from companion.procedure.nouns import several


@click.command(epilog="Example: companion report --logs logs/demo --out report.html")
@options.maybe_procedure
@click.option("--title", help="Only the procedure of that title, as it is logged.")
@click.option("--shop", default="", metavar="NAME", help="The name on the report.")
@click.option(
    "--out",
    type=options.NewPage(),
    default=Path("report.html"),
    show_default=True,
    metavar="FILE.html",
    help="The file to write.",
)
@options.logs
@options.needs(Extra.LABOUR)
def command(procedure: Path | None, title: str | None, shop: str, out: Path, logs: Path) -> None:
    """Actual against book, trend, whether the ranges can be trusted, and where time is lost, as charts.

    One HTML file that needs no network and no script: open it in a browser, or print it.
    """
    from companion.labour.report.gather import gather
    from companion.labour.report.report import build_report
    from companion.labour.table.collect import collect

    if procedure is not None:
        if title is not None:
            raise click.UsageError("name the procedure or its --title, not both")
        from companion.procedure.read import read_procedure

        title = read_procedure(procedure).title
    with collect(logs) as table:
        warn_of_faults(table)
        data = gather(table, logged_title(table, title, logs), shop=shop)
    write(out, build_report(data))
    hours = data.work.total_seconds() / 3600
    jobs, steps = several(data.jobs, "job"), several(len(data.steps) + len(data.no_book), "step")
    show_line(f"{out}: {jobs}, {hours:.1f} h of active time, {steps}")
