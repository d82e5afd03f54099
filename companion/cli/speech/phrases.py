"""`companion phrases`: what can be said at a step."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options

if TYPE_CHECKING:
    from companion.speech.language.phrases import Phrase


@click.command(
    epilog="Example: companion phrases --procedure procedures/sump-reseal.yaml --step drain-oil --json"
)
@click.option(
    "--procedure", type=options.ProcedureFile(), metavar="PROCEDURE", help="Take a step of this procedure."
)
@click.option("--step", metavar="ID", help="Which step; a plain step without it.")
@click.option("--alike", is_flag=True, help="Tell instead which of them sound alike (English).")
@options.lang
@options.as_json
def command(procedure: Path | None, step: str | None, alike: bool, lang: str, as_json: bool) -> None:
    """List every phrase that is listened for, with its command."""
    from companion.cli.speech.at_step import expecting_at
    from companion.speech.language.phrases import language

    can = expecting_at(procedure, step)
    phrases = language(lang).that_answer(can)
    if alike:
        _tell_alike(phrases, lang, as_json)
        return
    for phrase in phrases:
        arguments = phrase.arguments
        if as_json:
            line = {"phrase": phrase.text, "command": str(phrase.command), "arguments": arguments}
            click.echo(json.dumps(line, ensure_ascii=False))
        else:
            details = "".join(f"  {k}={v}" for k, v in arguments.items())
            click.echo(f"{phrase.text:28} {phrase.command}{details}")
    if can.reading and not as_json:
        click.echo(f"(and a measured value in {can.reading})")


def _tell_alike(phrases: Sequence["Phrase"], lang: str, as_json: bool) -> None:
    """Pairs of different meaning that are easily mistaken for each other, the likest first."""
    from companion.speech.language.confusion import confusions

    if lang != "en":
        raise click.UsageError("--alike knows how English sounds, and no other language")
    found = confusions(phrases)
    for pair in found:
        line = {"one": pair.one.text, "other": pair.other.text, "likeness": round(pair.likeness, 2)}
        click.echo(json.dumps(line) if as_json else str(pair))
    if not found and not as_json:
        click.echo("No two of them sound alike.")
