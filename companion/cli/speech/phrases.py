"""`companion phrases`: what can be said at a step."""

import json
from pathlib import Path

import click

from companion.cli import options


@click.command(
    epilog="Example: companion phrases --procedure procedures/sump-reseal.yaml --step drain-oil --json"
)
@click.option(
    "--procedure", type=click.Path(path_type=Path), metavar="FILE", help="Take a step of this procedure."
)
@click.option("--step", metavar="ID", help="Which step; a plain step without it.")
@options.lang
@options.as_json
def command(procedure: Path | None, step: str | None, lang: str, as_json: bool) -> None:
    """List every phrase that is listened for, with its command."""
    from companion.cli.speech.at_step import expecting_at
    from companion.speech.language.phrases import language

    can = expecting_at(procedure, step)
    for phrase in language(lang).phrases_for(can.commands, can.states, can.number, can.durations):
        arguments = dict(phrase.arguments)
        if as_json:
            line = {"phrase": phrase.text, "command": str(phrase.command), "arguments": arguments}
            click.echo(json.dumps(line, ensure_ascii=False))
        else:
            details = "".join(f"  {k}={v}" for k, v in arguments.items())
            click.echo(f"{phrase.text:28} {phrase.command}{details}")
    if can.reading and not as_json:
        click.echo(f"(and a measured value in {can.reading})")
