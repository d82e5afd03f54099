"""Where what is shown leaves the program: written in a thread of its own, so that nobody waits for it.

A terminal may take nothing for hours: its link hangs, its window is stopped, the pipe behind it is full. The
job, its check-ins and its alarms go on meanwhile.
"""

import os
from collections import deque
from collections.abc import Callable
from threading import Event, Lock, Thread

from companion.terminal import fitted

Lost = Callable[[str], None]
"""Takes the reason why nothing that is shown arrives any more."""
CLOSED_BY = 2.0
"""Seconds that leaving waits for the last words to be taken."""
MOST = 2000
"""Lines that wait for a pipe; when more come the oldest are dropped, and that is told."""


class Outlet:
    """Asks for bytes whenever there is something new and the last ones have been taken."""

    def __init__(self, descriptor: int, newest: Callable[[], bytes], lost: Lost) -> None:
        self._descriptor = descriptor
        self._newest = newest
        self._lost = lost
        self._new = Event()
        self._closing = False
        self._gone = False
        self._thread = self._begin()

    def nudge(self) -> None:
        """There is something new. Returns at once."""
        self._new.set()

    def close(self) -> None:
        """Wait a little for the last words to be taken. Safe to call twice."""
        self._closing = True
        self._new.set()
        if not self._thread.is_alive() and not self._gone:
            # It died of a fault; the terminal must be given back all the same.
            self._thread = self._begin()
        self._thread.join(CLOSED_BY)

    def _begin(self) -> Thread:
        thread = Thread(target=self._run, name="display", daemon=True)
        thread.start()
        return thread

    def _run(self) -> None:
        ends = self._gone
        while not ends:
            self._new.wait()
            self._new.clear()
            ends = self._closing
            rest = self._newest()
            try:
                while rest:
                    rest = rest[os.write(self._descriptor, rest) :]
            except OSError as error:
                self._gone = True
                self._lost(error.strerror or str(error))
                return


class Behind:
    """A stream of lines that never keeps its writer waiting."""

    def __init__(self, descriptor: int, encoding: str, lost: Lost) -> None:
        self._encoding = encoding
        self._lines: deque[str] = deque()
        self._dropped = 0
        self._lock = Lock()
        self._outlet = Outlet(descriptor, self._taken, lost)

    def write(self, text: str) -> None:
        """Take a line."""
        with self._lock:
            self._lines.append(text)
            if len(self._lines) > MOST:
                self._lines.popleft()
                self._dropped += 1
        self._outlet.nudge()

    def flush(self) -> None:
        """Nothing to do: no line is held back."""

    def close(self) -> None:
        """Wait a little for the last lines to be taken."""
        self._outlet.close()

    def _taken(self) -> bytes:
        with self._lock:
            lines, dropped = "".join(self._lines), self._dropped
            self._lines.clear()
            self._dropped = 0
        told = f"  ! {dropped} lines were not taken in time and are not shown\n" if dropped else ""
        return fitted(told + lines, self._encoding).encode(self._encoding)
