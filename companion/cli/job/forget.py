"""`companion forget`: takes a note, a job, a person or everything out of what is kept."""

from functools import partial
from pathlib import Path

import click

from companion.cli import options
from companion.errors import CompanionError

_LEFT = (
    "What is left: copies made elsewhere (reports, quotes, calendars, exports, backups), and whatever the "
    "disk still holds of deleted files."
)


@click.command(
    epilog="Examples: companion forget --job 2031-03-04-sump-reseal-1 --note 2; "
    "companion forget --person Ana; companion forget --everything"
)
@options.logs
@click.option("--job", metavar="NAME", help="This job, with its sounds and pages.")
@click.option(
    "--note", type=click.IntRange(min=1), metavar="N", help="Only this note of the job, words and sound."
)
@click.option("--person", metavar="NAME", help="This person, in all the logs of the folder.")
@click.option("--everything", is_flag=True, help="All that the companion keeps in the folder.")
@click.option("--yes", is_flag=True, help="Do not ask first.")
def command(
    logs: Path, job: str | None, note: int | None, person: str | None, everything: bool, yes: bool
) -> None:
    """Forget for good. Logs keep every event and its time; words, sounds and names go.

    Step times stay: they are the shop's, and tell of nobody once the name is gone.
    """
    from companion.logbook import forget

    if sum((job is not None, person is not None, everything)) != 1 or (note is not None and job is None):
        raise click.UsageError("name one of --job (with or without --note), --person and --everything")
    if note is not None and job is not None:
        what, act = f"note {note} of {job}", partial(forget.forget_note, logs, job, note)
    elif job is not None:
        what, act = f"the job {job}", partial(forget.forget_job, logs, job)
    elif person is not None:
        what, act = f"the name {person!r}", partial(forget.forget_person, logs, person)
    else:
        what, act = "everything", partial(forget.forget_everything, logs)
    if not yes and not _agreed(f"Forget {what} in {logs} for good?"):
        click.echo("Nothing was changed.")
        return
    done = act()
    lines = "one line" if done.blanked == 1 else f"{done.blanked} lines"
    if done.blanked:
        click.echo(f"Blanked the words of {lines} in the logs.")
    for path in done.deleted:
        click.echo(f"Deleted {path}")
    click.echo(_LEFT)


def _agreed(question: str) -> bool:
    try:
        return click.confirm(question)
    except click.Abort:
        click.echo(err=True)
        raise CompanionError("nobody answered, nothing was changed: answer y, or give --yes") from None
