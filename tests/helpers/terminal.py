"""A terminal for tests: a pseudo-terminal whose other end reads what is drawn, or does not."""

import fcntl
import os
import pty
import re
import select
import struct
import termios
from collections.abc import Callable

from tests.helpers.waiting import until

ROW = re.compile(r"\x1b\[(\d+);1H\x1b\[K([^\n]*?)(?=\x1b\[\d+;1H|\x1b\[\?1049l|$)", re.DOTALL)
STYLE = re.compile(r"\x1b\[[0-9;]*m")


class Emulator:
    """Its `slave` is the terminal that a program draws on; nothing is taken from it before it is asked."""

    def __init__(self, columns: int = 80, lines: int = 24) -> None:
        self.master, self.slave = pty.openpty()
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        self.raw = ""

    def fills_up(self) -> None:
        """Nobody takes what is written any more, and no more fits: the next to write waits for ever."""
        os.set_blocking(self.slave, False)
        try:
            while True:
                os.write(self.slave, b"x" * 512)
        except BlockingIOError:
            os.set_blocking(self.slave, True)

    def types(self, text: str | bytes) -> None:
        os.write(self.master, text.encode() if isinstance(text, str) else text)

    def until(self, words: str) -> str:
        """What stands on the screen, once these words are there."""
        self._reads(self.screen, words)
        return self.screen()

    def until_written(self, words: str) -> None:
        """Read until these words have been written to it, whatever stands there now."""
        self._reads(lambda: self.raw, words)

    def takes(self, seconds: float) -> bytes:
        """Read what is there, waiting at most so long for it."""
        if not select.select([self.master], [], [], seconds)[0]:
            return b""
        try:
            data = os.read(self.master, 1 << 16)
        except OSError:  # The other end is closed.
            return b""
        self.raw += data.decode("utf-8", "replace")
        return data

    def screen(self) -> str:
        """The rows as they were drawn last."""
        rows = {int(row): STYLE.sub("", text) for row, text in ROW.findall(self.raw)}
        return "\n".join(rows[n] for n in sorted(rows))

    def _reads(self, where: Callable[[], str], words: str) -> None:
        until(
            lambda: words in where() or (self.takes(0.1) and words in where()),
            lambda: f"no {words!r} in\n{where()[-2000:]}",
        )

    def close(self) -> None:
        os.close(self.master)
        os.close(self.slave)
