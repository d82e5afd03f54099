"""The options of every command, from bytes: a word a line, the first of them the command."""

import io
import shutil
import sys
from contextlib import chdir, redirect_stderr, redirect_stdout, suppress
from functools import cache
from pathlib import Path
from unittest.mock import patch

import click

from companion.cli import COMMANDS, group, main
from companion.errors import CompanionError
from tests.hostile.seeds import GOLDEN
from tests.procedure.conftest import SMALL

RUN = (
    "check", "phrases", "jobs", "due", "forget", "times", "quote", "choices", "plan", "completion",
    "fastener", "procedures", "shop", "show", "explain", "schema", "minutes", "hours", "quoted",
)  # fmt: skip
"""Commands that are run whole. Of the others the options are read: they take long, or want a microphone."""
_HERE = ("job.yaml", "front-brakes", "page.html", "Ana", "wipe", "12", "logs", "Mon-Fri 08:00-17:00")


@cache
def seeds() -> tuple[bytes, ...]:
    """Each command with each of its options, and something for it."""
    found = [["quote", "job.yaml", "--part", "washer=0.80x2", "--rate", "75", "--csv", "page.csv"]]
    found += [
        ["plan", "job.yaml", "--hours", "Mon-Fri 08:00-12:00,13:00-17:00", "--start", "2031-03-04 09:00"]
    ]
    for number, name in enumerate(COMMANDS):
        command = group.get_command(click.Context(group), name)
        assert command is not None
        options = [one for one in command.params if isinstance(one, click.Option)]
        first = ["job.yaml"] if any(isinstance(one, click.Argument) for one in command.params) else []
        for at, option in enumerate(options):
            value = [] if option.is_flag else [_HERE[(number + at) % len(_HERE)]]
            found.append([name, *first, option.opts[0], *value])
    return tuple("\n".join(words).encode() for words in found)


def options(data: bytes, folder: Path) -> None:
    """What a user types: a command ends in an answer, or in one line."""
    # A name with a slash in it could lead out of the folder; no system hands a null byte over.
    typed = data.decode("utf-8", "surrogateescape").translate(dict.fromkeys(map(ord, "/\0")))
    name, *rest = typed.replace("..", "").split("\n")
    _furnish(folder)
    with chdir(folder):
        if name in COMMANDS and name not in RUN:
            command = group.get_command(click.Context(group), name)
            assert command is not None
            with suppress(click.ClickException, click.exceptions.Exit, CompanionError):
                command.make_context(name, rest)
        else:
            _runs([name, *rest])


def _runs(words: list[str]) -> None:
    """Through the front door."""
    shown = [io.TextIOWrapper(io.BytesIO(), "utf-8") for _ in range(2)]
    with (
        patch.object(sys, "argv", ["companion", *words]),
        patch.object(sys, "stdin", io.StringIO()),
        redirect_stdout(shown[0]),
        redirect_stderr(shown[1]),
    ):
        try:
            main()
            code: object = 0
        except SystemExit as ended:
            code = ended.code or 0
    for stream in shown:
        stream.flush()
    errors = shown[1].buffer.getvalue().decode()  # type: ignore[attr-defined]
    assert code in (0, 2), (code, errors)
    assert code == 0 or errors, "it failed without a word"


def _furnish(folder: Path) -> None:
    """A procedure, and logs of jobs: whatever a command before has left of them."""
    if not (folder / "job.yaml").is_file():
        (folder / "job.yaml").write_text(SMALL)
    logs = folder / "logs"
    if not (logs / "front-brakes.jsonl").is_file():
        shutil.rmtree(logs, ignore_errors=True)
        shutil.copytree(GOLDEN, logs, ignore=shutil.ignore_patterns("*.wav"))
