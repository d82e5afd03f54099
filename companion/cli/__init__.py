"""The front door: one module per command, loaded only when it is called."""

import os
import sys
from importlib import import_module
from pathlib import Path

import click

from companion import __version__
from companion.errors import CompanionError
from companion.files import failures_named
from companion.terminal import harmless_output

COMMANDS: dict[str, tuple[str, str]] = {
    "work": ("job.work", "Do a job: read aloud, listen, log."),
    "rehearse": ("job.rehearse", "Run a whole job on rendered audio, with no sound hardware."),
    "check": ("job.check", "Check procedure files before anyone relies on them."),
    "draft": ("writing.draft", "Draft a procedure from your own lines, and answer what it leaves open."),
    "procedures": ("writing.procedures", "List the procedures that can be asked for by name."),
    "fastener": ("job.fastener", "Tell what a thread bears, and what tools fit it."),
    "explain": ("writing.explain", "Explain a field of a procedure."),
    "schema": ("writing.schema", "Print the JSON Schema of a procedure, for editors."),
    "show": ("writing.show", "Show what to lay out before a job: the bench sheet."),
    "say": ("writing.say", "Show, and render, what the steps will sound like."),
    "hear": ("speech.hear", "Recognise commands in recordings, or check a microphone."),
    "phrases": ("speech.phrases", "List what can be said at a step."),
    "models": ("speech.models", "List, verify and explain recognition models."),
    "jobs": ("job.jobs", "List jobs, show one, or write its handover page."),
    "forget": ("job.forget", "Take a note, a job, a person or everything out of what is kept."),
    "due": ("job.due", "List what is due over all jobs, or write it as a calendar."),
    "times": ("labour.times", "Show how long each step really takes."),
    "minutes": ("labour.minutes", "Show where work takes more than the book, and how often."),
    "quote": ("labour.quote", "Estimate the hours of a job at a chosen confidence."),
    "choices": ("labour.choices", "Compare ways of doing a job, extra work, and work sent out."),
    "plan": ("labour.plan", "Plan a job over the shop's working hours."),
    "report": ("shop.report", "Write the shop's report as one HTML page."),
    "shop": (
        "shop.shop",
        "Say what is always so in this shop: hours, rate, tax, which steps are the same.",
    ),
    "hours": ("shop.hours", "Tell who was there on which day, and for what; for the payroll."),
    "quoted": ("shop.quoted", "Tell what was quoted for jobs, against what they took."),
    "shops": ("shop.shops", "Compare shops, each against the book."),
    "demo": ("shop.demo", "Write the logs of an invented shop, to try the others on."),
    "licences": ("licences", "List the licences of all that is installed for the program."),
    "completion": ("completion", "Print the shell completion script."),
}
"""Name -> the module in this folder that is the command, and what it is for."""


class _Lazy(click.Group):
    """Knows its commands by name and loads one only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"companion.cli.{COMMANDS[cmd_name][0]}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, purpose) for name, (_, purpose) in COMMANDS.items()])


@click.group(
    cls=_Lazy,
    epilog="Example: companion rehearse procedures/front-brakes.yaml",
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(__version__, prog_name="companion")
def group() -> None:
    """Talk a mechanic through a job, hands free, and remember everything that was opened."""


def main() -> None:
    """Run the command line. Whatever a user can cause ends in one clear line and exit code 2."""
    os.umask(0o077)  # Logs, sounds and pages tell about people: they are their user's alone.
    _open_what_is_closed()
    with harmless_output():
        try:
            _run()
        except CompanionError as error:
            click.echo(f"companion: {error}", err=True)
            sys.exit(2)


def _run() -> None:
    """Run the command. A file that the system refuses ends in one line too, even if nobody foresaw it."""
    try:
        group(prog_name="companion")
    except OSError as error:
        if error.filename is None:
            raise
        with failures_named(Path(os.fsdecode(error.filename))):
            raise


def _open_what_is_closed() -> None:
    """Started without one of the three streams, it reads nothing there and writes to nowhere.

    Otherwise the next file that is opened, such as a log, would be taken for it.
    """
    for descriptor, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        if getattr(sys, name) is None:
            nowhere = os.open(os.devnull, os.O_RDWR)
            if nowhere != descriptor:
                os.dup2(nowhere, descriptor)
                os.close(nowhere)
            setattr(sys, name, os.fdopen(descriptor, mode, encoding="utf-8", closefd=False))
