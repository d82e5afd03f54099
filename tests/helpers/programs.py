"""Programs in processes of their own. Nothing here waits for ever, and no process outlives its test."""

import os
import signal
import subprocess
import sys
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread
from time import monotonic
from types import TracebackType
from typing import Any

from tests.helpers.waiting import PATIENCE

PYTHON = sys.executable


def run(
    *command: object,
    typed: str | bytes = "",
    folder: Path | None = None,
    env: Mapping[str, str] | None = None,
) -> "subprocess.CompletedProcess[Any]":
    """Run a program to its end. What it writes comes as text, or as bytes where bytes are typed."""
    return subprocess.run(
        [*map(str, command)],
        input=typed,
        capture_output=True,
        text=isinstance(typed, str),
        cwd=folder,
        env=env,
        timeout=PATIENCE,
        check=False,
    )


class Program:
    """A program at work, whose lines are read as they come; killed when its block is left.

    >>> with Program.companion("work", "job.yaml", "--keys", folder=folder) as working:
    ...     working.until("Yes or no?")
    ...     working.types("yes")
    ...     working.hang_up()
    ...     assert working.ends() == 0
    """

    def __init__(
        self,
        *command: object,
        folder: Path | None = None,
        env: Mapping[str, str] | None = None,
        terminal: int | None = None,
    ) -> None:
        """`terminal` is the descriptor of one to work on, in place of two pipes; see `terminal.Emulator`."""
        self._process = subprocess.Popen(
            [*map(str, command)],
            stdin=subprocess.PIPE if terminal is None else terminal,
            stdout=subprocess.PIPE if terminal is None else terminal,
            stderr=subprocess.PIPE,
            text=True,
            cwd=folder,
            env=env,
            start_new_session=True,  # so that whatever it has started can be ended with it
        )
        self.shown: list[str] = []
        """The lines that were waited for, and those before them; all, once it has ended."""
        self.errors: list[str] = []
        """What it wrote to its standard error; whole, once it has ended."""
        self._coming: SimpleQueue[str | None] = SimpleQueue()
        self._readers = (
            Thread(target=self._read, daemon=True),
            Thread(target=self._read_errors, daemon=True),
        )
        for reader in self._readers:
            reader.start()

    @classmethod
    def companion(cls, *arguments: object, **where: Any) -> "Program":
        """The companion itself, as its user starts it."""
        return cls(PYTHON, "-m", "companion", *arguments, **where)

    @property
    def code(self) -> int | None:
        """How it ended; None while it goes on."""
        return self._process.returncode

    @property
    def pid(self) -> int:
        return self._process.pid

    def line(self) -> str:
        """The next line that it shows."""
        return self.until("")

    def until(self, words: str) -> str:
        """Read on until a line holds these words; that line."""
        shown = self.shows(words, PATIENCE)
        assert shown is not None, f"no {words!r} came; {self.told()}"
        return shown

    def shows(self, words: str, seconds: float) -> str | None:
        """The next line that holds these words; None when none comes in so many seconds."""
        end = monotonic() + seconds
        with suppress(Empty):
            while (shown := self._next(end)) is not None:
                if words in shown:
                    return shown
            raise AssertionError(f"it ended without {words!r}; {self.told()}")
        return None

    def types(self, *lines: str) -> None:
        """Type into it."""
        assert self._process.stdin
        self._process.stdin.write("".join(f"{line}\n" for line in lines))
        self._process.stdin.flush()

    def signal(self, number: int) -> None:
        """Send it a signal."""
        self._process.send_signal(number)

    def kill(self) -> None:
        """End it and whatever it has started, at once."""
        with suppress(ProcessLookupError):
            os.killpg(self._process.pid, signal.SIGKILL)

    def hang_up(self) -> None:
        """Nothing more is typed."""
        assert self._process.stdin
        self._process.stdin.close()

    def ends(self) -> int | None:
        """Wait for its end; its exit code."""
        try:
            self._process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            raise AssertionError(f"it does not end; {self.told()}") from None
        end = monotonic() + PATIENCE
        while self._next(end) is not None:
            """All of it is kept."""
        self._readers[1].join(PATIENCE)
        return self.code

    def told(self) -> str:
        """All that it has shown, for the message of a failed test."""
        with suppress(subprocess.TimeoutExpired):  # one that shows no more is about to end
            self._process.wait(1)
        return f"it showed {self.shown} and complained {self.errors}; exit code {self.code}"

    def __enter__(self) -> "Program":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> None:
        self.kill()
        self._process.wait(PATIENCE)
        for reader in self._readers:
            reader.join(PATIENCE)
        for pipe in filter(None, (self._process.stdin, self._process.stdout, self._process.stderr)):
            with suppress(BrokenPipeError):
                pipe.close()

    def _next(self, end: float) -> str | None:
        """The next line, or None when it shows no more; raises Empty when none comes until then."""
        line = self._coming.get(timeout=max(0.0, end - monotonic()))
        if line is None:
            self._coming.put(None)
            return None
        self.shown.append(line)
        return line

    def _read(self) -> None:
        for line in self._process.stdout or ():
            self._coming.put(line)
        self._coming.put(None)

    def _read_errors(self) -> None:
        assert self._process.stderr
        self.errors.extend(self._process.stderr)
