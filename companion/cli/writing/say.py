"""`companion say`: what the steps of a procedure will sound like."""

import io
import wave
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.errors import ProcedureError

if TYPE_CHECKING:
    from companion.procedure.model import Procedure, Step
    from companion.speech.sound.samples import Samples

_BETWEEN_STEPS, _BETWEEN_SENTENCES = 1.2, 0.35
"""Seconds of silence."""


@click.command(epilog="Examples: companion say sump --step drain-oil; companion say sump --wav sump.wav")
@options.procedure
@click.option(
    "--step", "steps", multiple=True, metavar="ID|NUMBER", help="Only this step; may be given again."
)
@click.option("--wav", type=click.Path(path_type=Path), metavar="FILE.wav", help="Render it as sound too.")
@click.option("--pace", type=click.IntRange(80, 260), default=150, show_default=True, help="Words a minute.")
def command(procedure: Path, steps: tuple[str, ...], wav: Path | None, pace: int) -> None:
    """Show how each step will be read aloud, in the words of the ear, and render it as a recording.

    Hazards come first, then the step, then what it wants. A step is heard here as if all before it were done.
    """
    from companion.files import check_sound_name
    from companion.harmless import harmless
    from companion.procedure.read import read_procedure

    read = read_procedure(procedure)
    wanted = [_step(read, name) for name in steps] or [*read.steps]
    if wav is not None:
        check_sound_name(wav)
    told = [_told(read, step) for step in wanted]
    for sentences in told:
        for sentence in sentences:
            click.echo(harmless(sentence))
        click.echo()
    if wav is not None:
        seconds = _render(told, wav, pace)
        click.echo(f"{wav}: {seconds:.0f} s of speech")


def _step(procedure: "Procedure", name: str) -> "Step":
    if name.isdecimal() and 1 <= int(name) <= len(procedure.steps):
        return procedure.steps[int(name) - 1]
    found = next((step for step in procedure.steps if step.id == name), None)
    if found is None:
        from companion.procedure.fault import suggestion

        hint = suggestion(name, [step.id for step in procedure.steps])
        raise ProcedureError(f"no step is called '{name}'{hint or '; companion show lists what there is'}")
    return found


def _told(procedure: "Procedure", step: "Step") -> list[str]:
    """Each sentence as the voice is given it."""
    from companion.job.facts.state import State
    from companion.job.words.reading_out import step_sayings
    from companion.procedure.wording import for_the_ear, sentences

    sayings = step_sayings(State(procedure, current=step.id), step)
    heard = (for_the_ear(sentence) for saying in sayings for sentence in sentences(saying.text))
    return [f"{text[:1].upper()}{text[1:]}" for text in heard]


def _render(told: Sequence[Sequence[str]], wav: Path, pace: int) -> float:
    from companion.extras import Extra, need

    need(Extra.SPEECH, "say --wav")
    import numpy as np

    from companion.errors import SoundError
    from companion.files import write_whole
    from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
    from companion.speech.sound.samples import RATE

    def silence(seconds: float) -> "Samples":
        return np.zeros(int(seconds * RATE), dtype=np.float32)

    voice = Pyttsx3Voice()
    pieces: list[Samples] = []
    try:
        for sentences in told:
            for sentence in sentences:
                pieces += [voice.render(sentence, pace).samples, silence(_BETWEEN_SENTENCES)]
            pieces.append(silence(_BETWEEN_STEPS))
    finally:
        voice.close()
    sound = np.concatenate(pieces)
    content = io.BytesIO()
    with wave.open(content, "wb") as file:
        file.setparams((1, 2, RATE, 0, "NONE", "not compressed"))
        file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    try:
        write_whole(wav, content.getvalue())
    except OSError as error:
        raise SoundError(f"{wav}: cannot be written ({error.strerror}); choose another place") from error
    return len(sound) / RATE
