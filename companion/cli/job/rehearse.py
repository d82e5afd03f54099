"""`companion rehearse`: the whole job on rendered audio."""

from collections import Counter
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.extras import Extra
from companion.procedure.nouns import several

if TYPE_CHECKING:
    from companion.rehearsal.rehearse import Result


@click.command(epilog="Example: companion rehearse procedures/front-brakes.yaml --noise impact --snr 15")
@click.argument(
    "procedure",
    type=options.ProcedureFile(),
    metavar="[PROCEDURE]",
    default="front-brakes",
)
@click.option(
    "--logs",
    type=click.Path(path_type=Path),
    default=Path("rehearsals"),
    show_default=True,
    metavar="DIR",
    help="Folder for the job log and the recording.",
)
@click.option(
    "--wav", type=click.Path(path_type=Path), metavar="FILE", help="The recording; beside the log by default."
)
@click.option("--noise", type=click.Choice(["pink", "impact", "none"]), default="pink", show_default=True)
@click.option(
    "--snr", type=click.FloatRange(-10, 60), default=20.0, show_default=True, help="Speech over noise, dB."
)
@click.option(
    "--script",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="What the mechanic says and does besides.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Decides how long each step takes.")
@options.recogniser
@options.model
@options.needs(Extra.SPEECH)
def command(
    procedure: Path,
    logs: Path,
    wav: Path | None,
    noise: str,
    snr: float,
    script: Path | None,
    seed: int,
    recogniser: str,
    model: Path | None,
) -> None:
    """Run a whole job with no sound hardware.

    A scripted mechanic, spoken by a synthesiser in workshop noise, is heard by the real recogniser.
    Writes the job log and a stereo WAV: the mechanic on the left, the companion on the right.
    """
    from companion.rehearsal.rehearse import Settings, rehearse
    from companion.work.sound.wiring import make_recogniser
    from companion.work.views.plain_view import PlainLines

    settings = Settings(
        procedure=procedure,
        logs=logs,
        wav=wav or logs / f"{procedure.stem}.wav",
        noise=None if noise == "none" else noise,
        snr_db=snr,
        script=script,
        seed=seed,
    )
    result = rehearse(settings, make_recogniser(recogniser, model), PlainLines())
    summarise(result)


def summarise(result: "Result") -> None:
    """Steps and times, what was said, and what was misheard."""
    from companion.job.facts.state import How
    from companion.procedure.units import short
    from companion.rehearsal.performing import Outcome

    state = result.state
    click.echo(f"\nJob {result.job} closed: {state.closed}")
    how = Counter(settled.how for settled in state.settled.values())
    click.echo(f"Steps: {how[How.DONE]} done, {how[How.SKIPPED]} skipped, {how[How.NOT_NEEDED]} not needed")
    for note in state.notes:
        where = f"step {note.step}" if note.step else "between steps"
        click.echo(f"Note {note.number} ({where}): {note.text} [{note.clip}]")
    outcomes = Counter(attempt.outcome for attempt in result.attempts)
    click.echo(
        f"Said: {several(len(result.attempts), 'thing')}; "
        + ", ".join(f"{n} {o}" for o, n in outcomes.items())
    )
    for attempt in result.attempts:
        if attempt.outcome is not Outcome.UNDERSTOOD:
            heard = f" as {attempt.heard!r}" if attempt.heard else ""
            click.echo(f"  {_minutes(attempt.at)} {attempt.outcome}: {attempt.said!r}{heard}")
    click.echo(
        f"Recording: {_minutes(result.recorded)} of sound for {short(result.worked)} of work, "
        f"in {result.took.total_seconds():.0f} s"
    )
    click.echo(f"Log: {result.log}\nWAV: {result.wav}")


def _minutes(length: timedelta) -> str:
    minutes, seconds = divmod(int(length.total_seconds()), 60)
    return f"{minutes}:{seconds:02d}"
