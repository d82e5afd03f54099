"""`companion check`: procedures, before anyone relies on them."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options

if TYPE_CHECKING:
    from companion.procedure.read import Reading


@click.command(epilog="Example: companion check procedures/*.yaml")
@click.argument("files", nargs=-1, type=options.ProcedureFile(), metavar="PROCEDURE...")
@click.option("--strict", is_flag=True, help="Fail on advice too.")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "sarif"]),
    default="text",
    help="How the findings are written; sarif is SARIF 2.1.0, for editors and code review.",
)
@click.option("--explain", "code", metavar="CODE", help="Explain a code, or list them all with 'all'.")
def command(files: tuple[Path, ...], strict: bool, form: str, code: str | None) -> None:
    """Check procedure files: every finding with its file, line and column, and a code that can be explained.

    An error may hurt someone or bury something: no job is begun with it. Advice may be right; it is told at
    the bench.
    """
    from companion.cli.job import findings, heard
    from companion.procedure.nouns import several
    from companion.procedure.read import examine

    if code is not None:
        click.echo(findings.page(code))
        return
    if not files:
        raise click.UsageError("Missing argument 'PROCEDURE...'.")
    readings: list[tuple[Path, Reading]] = []
    for path in files:
        reading = examine(path)
        readings.append((path, heard.also(path, reading)))
    errors = sum(len(reading.errors) for _, reading in readings)
    advice = sum(len(reading.advice) for _, reading in readings)
    match form:
        case "json":
            click.echo(findings.as_json(readings))
        case "sarif":
            click.echo(findings.as_sarif(readings))
        case _:
            for line in findings.as_text(readings):
                click.echo(line)
    if errors or (strict and advice):
        found = f"{several(errors, 'error')}, {several(advice, 'piece of advice')}"
        click.echo(f"companion: {found}; mend the lines above, --explain CODE tells more", err=True)
        sys.exit(2)
