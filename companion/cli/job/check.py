"""`companion check`: procedures, before anyone relies on them."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options

if TYPE_CHECKING:
    from companion.procedure.model import Procedure


@click.command(epilog="Example: companion check procedures/*.yaml")
@click.argument("files", nargs=-1, required=True, type=options.ProcedureFile(), metavar="PROCEDURE...")
@click.option("--strict", is_flag=True, help="Fail on advice too.")
def command(files: tuple[Path, ...], strict: bool) -> None:
    """Check procedure files: every fault with its file, line and column, then advice.

    Advice is about odd torques and sizes, and about step words that sound like a command.
    """
    from companion.errors import ProcedureError
    from companion.procedure.nouns import several
    from companion.procedure.read import read_with_advice

    faults = advice = 0
    for path in files:
        try:
            reading = read_with_advice(path)
        except ProcedureError as error:
            for line in error.faults:
                click.echo(line)
            faults += len(error.faults)
            continue
        said = [*reading.advice, *_sounds_alike(path, reading.procedure)]
        for line in said:
            click.echo(f"{line} (advice)")
        advice += len(said)
        steps = several(len(reading.procedure.steps), "step")
        found = f"no fault, {several(len(said), 'piece of advice')}"
        click.echo(f"{path}: {reading.procedure.title}, {steps}: {found}")
    if faults or (strict and advice):
        found = f"{several(faults, 'fault')}, {several(advice, 'piece of advice')}"
        click.echo(f"companion: {found}; mend the lines above", err=True)
        sys.exit(2)


def _sounds_alike(path: Path, procedure: "Procedure") -> Iterator[str]:
    """What is said to get past a step, where it sounds like what else can be said at the same time."""
    from companion.cli.speech.at_step import expecting_in
    from companion.job.rules.wants import new_fasteners, new_words
    from companion.speech.language.confusion import sounds_like
    from companion.speech.language.phrases import language

    spoken = language()
    for step in procedure.steps:
        said = [*map(new_words, new_fasteners(step)), *([step.state] if step.state else [])]
        if not said:
            continue
        can = expecting_in(procedure, step.id)
        phrases = spoken.phrases_for(can.commands, (), can.number)
        for words in said:
            if alike := sounds_like(words, phrases):
                yield (
                    f'{path}: step {step.id}: "{words}" sounds like "{alike.other.text}", which can be said '
                    f"at the same time (likeness {alike.likeness:.2f}); choose other words"
                )
