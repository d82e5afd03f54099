"""The plain view: one line for everything said and heard, for pipes, logs and dumb terminals."""

import sys
from datetime import datetime
from typing import TextIO

from companion.job import messages as msg
from companion.job.facts.sayings import Saying
from companion.job.facts.state import State


class PlainLines:
    """Prints what happens as it happens: the mechanic's side with `<`, the companion's with `>`."""

    def __init__(self, out: TextIO | None = None) -> None:
        self._out = out or sys.stdout

    def heard(self, message: msg.Message) -> None:
        match message:
            case msg.Heard():
                source = "typed" if message.source == "keys" else "heard"
                self._print(f"  < {message.text or message.command}  ({source}, {message.score:.2f})")
            case msg.Unsure():
                self._print(f"  < {message.text}?  (unsure, {message.score:.2f})")
            case msg.NotUnderstood():
                self._print(f"  < {message.text or '...'}  (not understood)")
            case msg.SayingFailed():
                self._print(f"  ! not played: {message.text} ({message.reason})")
            case msg.MicrophoneLost() | msg.HearingFailed():
                self._print(f"  ! {message.reason}")
            case _:
                pass

    def said(self, saying: Saying) -> None:
        mark = {0: ">", 1: ">!", 2: ">!!"}[int(saying.priority)]
        self._print(f"{mark} {saying.text}")

    def warn(self, text: str) -> None:
        self._print(f"  ! {text}")

    def tell(self, text: str) -> None:
        self._print(f"  = {text}")

    def typing(self, text: str) -> None:
        """A line-wise terminal echoes by itself."""

    def show(self, state: State, now: datetime) -> None:
        """The lines already told it."""

    def close(self) -> None:
        """Nothing to give back."""

    def _print(self, line: str) -> None:
        print(line, file=self._out, flush=True)
