"""The plain view: one line for everything said and heard, for pipes, logs and dumb terminals."""

import sys
from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from companion.harmless import one_line
from companion.job import messages as msg
from companion.job.facts.sayings import Saying
from companion.job.facts.state import State


class Stream(Protocol):
    """Takes lines."""

    def write(self, text: str, /) -> object: ...

    def flush(self) -> object: ...


class PlainLines:
    """Prints what happens as it happens: the mechanic's side with `<`, the companion's with `>`."""

    def __init__(self, out: Stream | None = None) -> None:
        self._out = out or sys.stdout
        self._closed = False

    def heard(self, message: msg.Message) -> None:
        match message:
            case msg.Heard():
                source = "typed" if message.source == "keys" else "heard"
                self._print("  < ", f"{message.text or message.command}  ({source}, {message.score:.2f})")
            case msg.Unsure():
                self._print("  < ", f"{message.text}?  (unsure, {message.score:.2f})")
            case msg.NotUnderstood():
                self._print("  < ", f"{message.text or '...'}  (not understood)")
            case msg.SayingFailed():
                self._print("  ! ", f"not played: {message.text} ({message.reason})")
            case msg.MicrophoneLost() | msg.HearingFailed():
                self._print("  ! ", message.reason)
            case _:
                pass

    def said(self, saying: Saying) -> None:
        mark = {0: "> ", 1: ">! ", 2: ">!! "}[int(saying.priority)]
        self._print(mark, saying.text)

    def warn(self, text: str) -> None:
        self._print("  ! ", text)

    def tell(self, text: str) -> None:
        self._print("  = ", text)

    def typing(self, text: str) -> None:
        """A line-wise terminal echoes by itself."""

    def show(self, state: State, now: datetime) -> None:
        """The lines already told it."""

    def close(self, kept: Sequence[str] = ()) -> None:
        if not self._closed:
            self._closed = True
            for line in kept:
                self._print("", line)

    def _print(self, mark: str, text: str) -> None:
        self._out.write(f"{mark}{one_line(text)}\n")
        self._out.flush()
