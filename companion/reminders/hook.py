"""The check-in hook: a command of the user's own, run when someone working alone no longer answers.

Off unless a command is given. It is run without a shell, from an argument list, with a time limit; whatever
goes wrong with it is told, never hidden. The edge runs it when `job.waiting.HOOK_STAGE` is logged.
"""

import os
import shlex
import signal
import subprocess
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from companion.errors import CompanionError

LONGEST = timedelta(seconds=30)


@dataclass(frozen=True)
class Outcome:
    """What became of the command."""

    worked: bool
    line: str
    """One line for the screen and the log."""


def parse_hook(text: str) -> tuple[str, ...]:
    """The argument list of a command as typed, such as "notify-mate --job {job}".

    Raises:
        CompanionError: there is no command in it, or a quote is not closed.
    """
    try:
        words = tuple(shlex.split(text))
    except ValueError as error:
        raise CompanionError(
            f"check-in command {text!r}: {error}; write it as you would in a shell"
        ) from error
    if not words:
        raise CompanionError("check-in command is empty; name a program, or leave the option out")
    return words


def run_hook(command: Sequence[str], about: Mapping[str, str], longest: timedelta = LONGEST) -> Outcome:
    """Run the command and wait for it at most `longest`; call it from a thread of its own.

    `{job}`, `{vehicle}`, `{mechanic}` and `{stage}` in the arguments stand for what `about` tells. The
    same is in its environment as COMPANION_JOB and so on. Never raises for what the command does.
    """
    words = [_filled(word, about) for word in command]
    told = {f"COMPANION_{name.upper()}": value for name, value in about.items()}
    try:
        process = subprocess.Popen(
            words,
            env={**os.environ, **told},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        return Outcome(False, f"check-in command {words[0]}: cannot be started ({reason})")
    try:
        output, _ = process.communicate(timeout=longest.total_seconds())
    except subprocess.TimeoutExpired:
        _end(process)
        return Outcome(False, f"check-in command {words[0]}: stopped after {longest.total_seconds():g} s")
    if process.returncode != 0:
        last = output.decode(errors="replace").strip().splitlines()[-1:]
        said = f": {last[0][:200]}" if last else ""
        return Outcome(False, f"check-in command {words[0]}: failed with {process.returncode}{said}")
    return Outcome(True, f"check-in command {words[0]}: done")


def _filled(word: str, about: Mapping[str, str]) -> str:
    for name, value in about.items():
        word = word.replace(f"{{{name}}}", value)
    return word


def _end(process: "subprocess.Popen[bytes]") -> None:
    """End the command and whatever it has started."""
    try:
        os.killpg(process.pid, signal.SIGKILL)
    except (ProcessLookupError, AttributeError):
        process.kill()
    process.communicate()
