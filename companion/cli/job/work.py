"""`companion work`: the job at the car."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import click
from click.core import ParameterSource

from companion.cli import options


@click.command(
    epilog="Examples: companion work procedures/sump-reseal.yaml --vehicle 'Marlow Tern' --mechanic Ana; "
    "companion work --resume; companion work --resume Tern"
)
@options.maybe_procedure
@options.logs
@click.option(
    "--resume",
    is_flag=False,
    flag_value="",
    metavar="[WORDS]",
    help="Go on with a job exactly where it was: the one worked on last, or the open one that these words of "
    "its vehicle, procedure or name fit.",
)
@click.option("--job", metavar="NAME", help="The same by the whole name; `companion jobs` lists them.")
@click.option("--vehicle", type=options.Words(), default="", help="Which vehicle, for the log.")
@click.option("--mechanic", type=options.Words(), default="", help="Who works, for the log.")
@options.ambient
@options.humidity
@click.option("--keys", is_flag=True, help="Work by keyboard, without a microphone.")
@click.option("--quiet", is_flag=True, help="Without a loudspeaker: everything is shown, nothing is said.")
@click.option("--plain", is_flag=True, help="Plain lines in place of the full screen.")
@click.option(
    "--mic", metavar="DEVICE|FILE.wav", help="Microphone: a number, part of a name, or a recording."
)
@click.option("--speaker", metavar="DEVICE|FILE.wav", help="Loudspeaker: likewise, or a file to write.")
@click.option(
    "--pedal", default=" ", metavar="KEY", help="The key that means done; the space bar by default."
)
@click.option("--voice", type=click.Choice(["plain", "natural"]), default="plain", show_default=True)
@click.option(
    "--attention",
    type=options.Words(),
    metavar="WORD",
    help="A word of your own that must open every command.",
)
@click.option(
    "--alone",
    type=options.Finite(0.5, 240),
    metavar="MIN",
    help='Working alone: after so many silent minutes ask "are you all right?"; then each 30 seconds: ask '
    "again, raise the alarm, run the --alarm-command. Any command answers.",
)
@click.option(
    "--alone-under",
    type=options.Finite(0.5, 240),
    metavar="MIN",
    help="The same while the vehicle is on stands.",
)
@click.option(
    "--alarm-command",
    metavar="COMMAND",
    help="With --alone: run this when nobody answers the alarm, such as 'notify-mate {job}'. Off by default. "
    "No shell; {job}, {vehicle}, {mechanic} and {stage} are filled in, and are in its environment as "
    "COMPANION_JOB and so on. It has 30 seconds; a failure is shown.",
)
@options.profile
@options.phrases
@options.recogniser
@options.model
@options.lang
def command(
    procedure: Path | None,
    logs: Path,
    resume: str | None,
    job: str | None,
    vehicle: str,
    mechanic: str,
    ambient: float | None,
    humidity: float | None,
    keys: bool,
    quiet: bool,
    plain: bool,
    mic: str | None,
    speaker: str | None,
    pedal: str,
    voice: str,
    attention: str | None,
    alone: float | None,
    alone_under: float | None,
    alarm_command: str | None,
    profile: Path | None,
    phrases: Path | None,
    recogniser: str,
    model: Path | None,
    lang: str,
) -> None:
    """Do a job: the procedure is read aloud a step at a time, and short spoken commands are obeyed.

    Everything is logged as it happens. Leave at any time; --resume goes on exactly there.
    """
    from companion.work.bootstrap import work
    from companion.work.chosen import Choices
    from companion.work.edges.hook import parse_hook
    from companion.work.opening import Particulars
    from companion.work.which import job_to_resume

    if (procedure is None) == (resume is None and job is None):
        raise click.UsageError("name a procedure to begin a job, or --resume to go on with one")
    if resume and job:
        raise click.UsageError("--resume with words and --job both name a job: give one of them")
    if len(pedal) != 1:
        raise click.UsageError("--pedal is one key")
    if alarm_command is not None and alone is None:
        raise click.UsageError("--alarm-command needs --alone: without check-ins nobody would miss an answer")
    choices = Choices(
        keys=keys,
        quiet=quiet,
        plain=plain,
        mic=mic,
        speaker=speaker,
        pedal=pedal,
        voice=voice,
        attention=attention,
        alone=timedelta(minutes=alone) if alone else None,
        alone_under=timedelta(minutes=alone_under) if alone_under else None,
        alarm_command=parse_hook(alarm_command) if alarm_command is not None else (),
        profile=options.kept_profile(profile, logs),
        own={} if keys else options.own_phrases(phrases, logs, lang),
        recogniser=recogniser,
        model=model,
        lang=lang,
        options=tuple(_given()),
    )
    what = procedure or job or job_to_resume(resume or "", logs)
    work(what, logs, Particulars(vehicle, mechanic, ambient, humidity), choices)


_OF_THE_JOB = ("procedure", "resume", "job", "vehicle", "mechanic", "ambient", "humidity")
"""Options that the log keeps, so that resuming need not give them again."""


def _given() -> Iterator[str]:
    """The options as they were given, to go on with the same microphone, check-ins and so on."""
    context = click.get_current_context()
    for option in context.command.params:
        name = option.name or ""
        typed = context.get_parameter_source(name) is ParameterSource.COMMANDLINE
        if typed and name not in _OF_THE_JOB:
            yield option.opts[0]
            value = context.params[name]
            if not isinstance(value, bool):
                yield f"{value:g}" if isinstance(value, float) else str(value)
