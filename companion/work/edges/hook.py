"""The check-in hook: a command of the user's own, run when someone working alone no longer answers.

Off unless a command is given. It is run without a shell, from an argument list, with a time limit.
Whatever goes wrong with it is shown. It is run when a check-in has reached `HOOK_STAGE` of
`job/turns/reminders.py`.
"""

import os
import re
import shlex
import signal
import subprocess
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from companion.errors import CompanionError
from companion.harmless import one_line

LONGEST = timedelta(seconds=30)
_BLANK = re.compile(r"\{(\w+)\}")


class Ending(StrEnum):
    """How it ended."""

    DONE = "done"
    FAILED = "failed"
    TIMED_OUT = "timed out"
    NOT_STARTED = "could not start"


@dataclass(frozen=True)
class Outcome:
    """What became of the command."""

    ending: Ending
    line: str
    """One line for the screen and the log."""
    status: int | None = None
    """Its exit status when it has ended; negative when a signal ended it."""

    @property
    def worked(self) -> bool:
        """It ran and found nothing wrong."""
        return self.ending is Ending.DONE


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
    shown = {name: one_line(value) for name, value in about.items()}
    words = [_filled(word, shown) for word in command]
    told = {f"COMPANION_{name.upper()}": value for name, value in shown.items()}
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
        return Outcome(Ending.NOT_STARTED, f"check-in command {words[0]}: cannot be started ({reason})")
    try:
        output, _ = process.communicate(timeout=longest.total_seconds())
    except subprocess.TimeoutExpired:
        _end(process)
        after = f"{longest.total_seconds():g} s"
        return Outcome(Ending.TIMED_OUT, f"check-in command {words[0]}: stopped after {after}")
    status = process.returncode
    if status != 0:
        last = output.decode(errors="replace").strip().splitlines()[-1:]
        said = f": {last[0][:200]}" if last else ""
        return Outcome(Ending.FAILED, f"check-in command {words[0]}: failed with {status}{said}", status)
    return Outcome(Ending.DONE, f"check-in command {words[0]}: done", status)


def _filled(word: str, about: Mapping[str, str]) -> str:
    """The word with its blanks filled in. What is filled in is not searched for blanks again."""
    filled = _BLANK.sub(lambda blank: about.get(blank[1], blank[0]), word)
    # A vehicle called "-rf" must not be taken for an option.
    return f" {filled}" if filled.startswith("-") and not word.startswith("-") else filled


def _end(process: "subprocess.Popen[bytes]") -> None:
    """End the command and whatever it has started."""
    try:
        os.killpg(process.pid, signal.SIGKILL)
    except (ProcessLookupError, AttributeError):
        process.kill()
    process.communicate()
