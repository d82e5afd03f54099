"""The full-screen view, made to be read from two metres: drawn in its own thread from what it is told."""

import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from threading import Lock

from companion.job import messages as msg
from companion.job.facts.sayings import Priority, Saying
from companion.job.facts.state import State
from companion.terminal import Letters
from companion.work.views.outlet import Lost, Outlet
from companion.work.views.page import TALK, Seen, page
from companion.work.views.rows import Row

_STYLES = {
    Priority.ROUTINE: "",
    Priority.URGENT: "bold reverse",
    Priority.DANGER: "bold reverse red",
}
_CODES = {"bold": "1", "dim": "2", "reverse": "7", "red": "31"}
_ENTER, _LEAVE = "\x1b[?1049h\x1b[?25l", "\x1b[?25h\x1b[?1049l"
"""The alternate screen without a cursor, and back."""
EIGHTY_BY_24 = os.terminal_size((80, 24))


class FullScreen:
    """Fills the terminal; nothing in it needs colour to be understood. Any thread may tell it things."""

    def __init__(self, descriptor: int = 1, encoding: str = "utf-8", lost: Lost = lambda _: None) -> None:
        """`descriptor` is of the terminal, `encoding` its letters; `lost` is told when it is gone."""
        self._descriptor = descriptor
        self._letters = Letters(encoding)
        self._colour = "NO_COLOR" not in os.environ
        self._seen = Seen()
        """Replaced as a whole, so that whoever draws sees nothing half done."""
        self._lock = Lock()
        self._drawn = ""
        self._kept: Sequence[str] | None = None
        self._outlet = Outlet(descriptor, self._frame, lost)

    def heard(self, message: msg.Message) -> None:
        match message:
            case msg.Heard():
                self._change(lambda seen: replace(seen, warning=""))
                self.tell(f"you: {message.text or message.command}")
            case msg.Unsure():
                self.tell(f"you: {message.text}? (not sure)")
            case msg.NotUnderstood():
                self.tell(f"you: {message.text or '...'} (not understood)")
            case msg.SayingFailed():
                self.warn(f"not played: {message.reason}")
            case msg.MicrophoneLost() | msg.HearingFailed():
                self.warn(message.reason)
            case _:
                pass

    def said(self, saying: Saying) -> None:
        self._talk(f"> {saying.text}", _STYLES[saying.priority])

    def warn(self, text: str) -> None:
        self._change(lambda seen: replace(seen, warning=text))

    def tell(self, text: str) -> None:
        self._talk(text)

    def typing(self, text: str) -> None:
        self._change(lambda seen: replace(seen, typed=text))

    def show(self, state: State, now: datetime) -> None:
        self._change(lambda seen: replace(seen, at=(state, now)))

    def close(self, kept: Sequence[str] = ()) -> None:
        if self._kept is None:
            self._kept = tuple(kept)
            self._outlet.close()

    def _talk(self, text: str, style: str = "") -> None:
        self._change(lambda seen: replace(seen, talk=(*seen.talk, Row(text, style))[-TALK:]))

    def _change(self, change: Callable[[Seen], Seen]) -> None:
        with self._lock:
            self._seen = change(self._seen)
        self._outlet.nudge()

    def _frame(self) -> bytes:
        """What to write now, in the thread that draws; nothing when it looks the same."""
        enter = "" if self._drawn else _ENTER
        if self._kept is not None:
            lines = "".join(f"{self._letters.words(line)}\r\n" for line in self._kept)
            return f"{enter}{_LEAVE}{lines}".encode(self._letters.encoding)
        drawn = self._drawing(self._seen)
        if drawn == self._drawn:
            return b""
        self._drawn = drawn
        return f"{enter}{drawn}".encode(self._letters.encoding)

    def _drawing(self, seen: Seen) -> str:
        size = _size(self._descriptor)
        rows = page(seen, size.columns, size.lines, self._letters)
        return "".join(f"\x1b[{n};1H\x1b[K{self._styled(row)}" for n, row in enumerate(rows, start=1))

    def _styled(self, row: Row) -> str:
        codes = [_CODES[s] for s in row.style.split() if self._colour or s != "red"]
        return f"\x1b[{';'.join(codes)}m{row.text}\x1b[0m" if codes else row.text


def _size(descriptor: int) -> os.terminal_size:
    try:
        size = os.get_terminal_size(descriptor)
    except OSError:
        return EIGHTY_BY_24
    return size if size.columns and size.lines else EIGHTY_BY_24
