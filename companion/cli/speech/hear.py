"""`companion hear`: recordings in, recognised commands out; or a look at the microphone."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.extras import Extra

if TYPE_CHECKING:
    from companion.speech.hearing.ear import Ear
    from companion.speech.language.phrases import Phrase


_WITHOUT = {"microphone": "--keys", "loudspeaker": "--quiet"}
_TRIED = 4.0
"""Seconds that the default loudspeaker is tried for."""


@click.command(
    epilog="Examples: companion hear *.wav --json; companion hear --devices; companion hear --check --adapt"
)
@click.argument("files", nargs=-1, type=click.Path(path_type=Path), metavar="FILE...")
@options.as_json
@click.option(
    "--procedure", type=options.ProcedureFile(), metavar="PROCEDURE", help="Listen as at a step of it."
)
@click.option("--step", metavar="ID", help="Which step; a plain step without it.")
@click.option("--devices", is_flag=True, help="List microphones and loudspeakers, and how late sound comes.")
@click.option("--check", is_flag=True, help="Check the microphone with five phrases, and say what to change.")
@click.option("--mic", metavar="DEVICE", help="The microphone to check: a number or part of a name.")
@click.option(
    "--from",
    "recording",
    type=click.Path(path_type=Path),
    metavar="FILE.wav",
    help="Check a recording of the five phrases in place of a microphone.",
)
@click.option("--adapt", is_flag=True, help="With --check: keep what was learnt, for work and hear to use.")
@click.option(
    "--meter",
    type=click.FloatRange(20, 140),
    metavar="DBA",
    help="With --check: what a sound level meter beside the microphone reads between the phrases.",
)
@options.logs
@click.option(
    "--teach", type=options.Words(), metavar="WORD", help="Say it three times: how well is it told?"
)
@click.option("--as", "meaning", type=options.Words(), metavar="COMMAND", help="With --teach: what it means.")
@options.profile
@options.phrases
@options.recogniser
@options.model
@options.lang
@options.needs(Extra.SPEECH)
def command(
    files: tuple[Path, ...],
    as_json: bool,
    procedure: Path | None,
    step: str | None,
    devices: bool,
    check: bool,
    mic: str | None,
    recording: Path | None,
    adapt: bool,
    meter: float | None,
    logs: Path,
    teach: str | None,
    meaning: str | None,
    profile: Path | None,
    phrases: Path | None,
    recogniser: str,
    model: Path | None,
    lang: str,
) -> None:
    """Recognise commands in WAV recordings: one line for each command.

    Any sample rate from 4 kHz up, mono or stereo. Many recordings are heard in one run.

    With --check, five phrases are asked for. Their level, the noise, the distance of the two and clipping
    are measured, and what to change is said. The five phrases of a recording are, in this order: repeat,
    what size, go back, stop talking, done.
    """
    if devices:
        _list_devices()
        return
    if (teach is None) != (meaning is None) or (teach and (check or files)):
        raise click.UsageError("--teach WORD goes with --as COMMAND, such as --teach finished --as done")
    if not check and (adapt or meter is not None or (not teach and (recording or mic))):
        raise click.UsageError(
            "--adapt, --from, --mic and --meter belong to --check; --from and --mic to --teach"
        )
    if not check and not teach and not files:
        raise click.UsageError("name recordings, or --devices, or --check")
    if check and files:
        raise click.UsageError("--check takes a recording by --from FILE.wav")
    from companion.cli.speech.at_step import expecting_at
    from companion.job.facts.commands import Command
    from companion.speech.hearing.ear import Ear
    from companion.speech.language.phrases import language
    from companion.work.sound.wiring import make_recogniser

    known = None if check else options.kept_profile(profile, logs)
    own = options.own_phrases(phrases, logs, lang)
    word = _word(teach, meaning, lang)
    if word:
        own = {**own, Command(word.command): (*own.get(Command(word.command), ()), word.text)}
    ear = Ear(make_recogniser(recogniser, model, lang, known), lang=lang, own=own)
    can = expecting_at(procedure, step)
    live = language(lang).that_answer(can)
    ear.expect(live, can.free_speech, _trade_words(procedure), can.reading)
    if word:
        from companion.cli.speech.teach import run as teach_it

        teach_it(ear, word, language(lang), own, mic, recording, as_json)
        return
    if check:
        from companion.cli.speech.microphone_check import run

        keep = (profile or logs / options.PROFILE_NAME) if adapt else None
        run(ear, live, mic, recording, meter, keep, as_json)
    else:
        _hear(files, ear, as_json)


def _word(teach: str | None, meaning: str | None, lang: str) -> "Phrase | None":
    """The word that is taught; checked as if it stood in a file."""
    if teach is None or meaning is None:
        return None
    from companion.speech.language.own_phrases import taught
    from companion.speech.language.phrases import language

    return taught(teach, meaning, language(lang))


def _trade_words(procedure: Path | None) -> tuple[str, ...]:
    """As at work, what is dictated is written down with the words of the procedure in mind."""
    if procedure is None:
        return ()
    from companion.procedure.read import read_procedure
    from companion.work.sound.listening import trade_words

    return trade_words(read_procedure(procedure))


def _hear(files: tuple[Path, ...], ear: "Ear", as_json: bool) -> None:
    from companion.speech.hearing.recorded import hear_files

    for heard in hear_files(files, ear):
        if as_json:
            click.echo(json.dumps(heard, ensure_ascii=False))
        else:
            when = f"{heard['start']:7.2f}-{heard['end']:.2f} s"
            click.echo(f"{heard['file']}: {when}  {heard['phrase']}  ({heard['score']:.2f})")


def _list_devices() -> None:
    from companion.speech.devices.server import Kind, devices

    kinds: tuple[Kind, ...] = ("microphone", "loudspeaker")
    for kind in kinds:
        click.echo(f"{kind.capitalize()}s (* is the default):")
        found = devices(kind)
        for device in found:
            mark = "*" if device.is_default else " "
            described = f"  ({device.described})" if device.described else ""
            click.echo(f"{mark} {device.number:3}  {device.name}{described}  {device.rate} Hz")
        if not found:
            click.echo(f"  There is no {kind}; plug one in, or work with {_WITHOUT[kind]}.")
        elif kind == "loudspeaker":
            _try_loudspeaker()


def _try_loudspeaker() -> None:
    """Play a moment of silence, to tell how late sound comes here."""
    from time import sleep

    from companion.errors import SoundError
    from companion.speech.devices.device_player import SoundDevicePlayer
    from companion.speech.saying.mouth import Mouth
    from companion.speech.saying.voice import SilentVoice

    player = SoundDevicePlayer(Mouth(SilentVoice()))
    try:
        player.start()
        sleep(_TRIED)
    except SoundError as error:
        click.echo(f"The default loudspeaker cannot be played: {error}")
        return
    finally:
        player.close()
    for line in player.news():
        click.echo(line)
    if player.losses:
        click.echo(f"It lost sound {player.losses} times in {_TRIED:.0f} s: this machine is too busy.")
