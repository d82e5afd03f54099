"""`companion hear`: recordings in, recognised commands out; or a look at the microphone."""

import json
from pathlib import Path

import click

from companion.cli import options


@click.command(
    epilog="Examples: companion hear *.wav --json; companion hear --devices; companion hear --check"
)
@click.argument("files", nargs=-1, type=click.Path(path_type=Path), metavar="FILE...")
@options.as_json
@click.option(
    "--procedure", type=click.Path(path_type=Path), metavar="FILE", help="Listen as at a step of it."
)
@click.option("--step", metavar="ID", help="Which step; a plain step without it.")
@click.option("--devices", is_flag=True, help="List the microphones.")
@click.option("--check", is_flag=True, help="Check the microphone with five phrases, and say what to change.")
@click.option("--mic", metavar="DEVICE", help="The microphone to check: a number or part of a name.")
@options.recogniser
@options.model
@options.lang
def command(
    files: tuple[Path, ...],
    as_json: bool,
    procedure: Path | None,
    step: str | None,
    devices: bool,
    check: bool,
    mic: str | None,
    recogniser: str,
    model: Path | None,
    lang: str,
) -> None:
    """Recognise commands in WAV recordings: one line for each command.

    Any sample rate from 4 kHz up, mono or stereo. Many recordings are heard in one run.
    """
    if devices:
        _list_devices()
        return
    if check:
        raise click.UsageError("--check is not there yet; record a WAV and give it to companion hear")
    if not files:
        raise click.UsageError("name recordings, or --devices")
    from companion.cli.steps import expecting_at
    from companion.speech.ear import Ear
    from companion.speech.hear import hear_files
    from companion.speech.phrases import language
    from companion.work.bootstrap import make_recogniser

    can = expecting_at(procedure, step)
    ear = Ear(make_recogniser(recogniser, model, lang), lang=lang)
    phrases = language(lang).phrases_for(can.commands, can.states, can.number, can.durations)
    ear.expect(phrases, can.free_speech, (), can.reading)
    for heard in hear_files(files, ear):
        if as_json:
            click.echo(json.dumps(heard, ensure_ascii=False))
        else:
            when = f"{heard['start']:7.2f}-{heard['end']:.2f} s"
            click.echo(f"{heard['file']}: {when}  {heard['phrase']}  ({heard['score']:.2f})")


def _list_devices() -> None:
    from companion.speech.microphone import microphones

    found = microphones()
    for device in found:
        mark = "*" if device.is_default else " "
        click.echo(f"{mark} {device.number:3}  {device.name}  {device.rate} Hz")
    if not found:
        click.echo("There is no microphone; plug one in, or work with --keys.")
