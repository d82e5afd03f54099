"""`companion show`: the bench sheet of a procedure."""

from pathlib import Path

import click

from companion.cli import options


@click.command(epilog="Examples: companion show sump; companion show sump --html bench.html")
@options.procedure
@click.option("--html", type=options.NewPage(), metavar="FILE", help="Write it as a page to print.")
def command(procedure: Path, html: Path | None) -> None:
    """Show what to lay out before a job: cautions, tools, parts, what is made safe, bags, torques, fluids.

    Questions that are still open stand there too.
    """
    from companion.cli.labour.tables import show_line, show_list
    from companion.files import write_named
    from companion.harmless import harmless
    from companion.papers.bench import bench, bench_page, lines
    from companion.procedure.read import read_procedure

    sheet = bench(read_procedure(procedure))
    if html is not None:
        write_named(html, bench_page(sheet))
        click.echo(f"Bench sheet written to {html}")
        return
    click.echo(click.style(harmless(sheet.title), bold=True))
    show_line(harmless(sheet.lead))
    click.echo()
    for heading, points in lines(sheet):
        show_list(heading, map(harmless, points))
