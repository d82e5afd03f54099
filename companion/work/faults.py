"""Threads that die of a fault: none goes missing unnoticed, and what they died of is shown at the end."""

import threading
from types import TracebackType

from companion.work.inbox import Died, Post

TELL_THEMSELVES = ("microphone",)
"""Threads that have said aloud what is wrong; the job goes on without them."""


class Faults:
    """Between enter and exit, a thread that dies is posted as `Died`. On exit the tracebacks are printed.

    Not before: the screen is in use, and a terminal that has stalled would hold up whoever prints.
    """

    def __init__(self, post: Post) -> None:
        self._post = post
        self._before = threading.excepthook
        self._kept: list[threading.ExceptHookArgs] = []

    def __enter__(self) -> None:
        self._before, threading.excepthook = threading.excepthook, self._died

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> None:
        threading.excepthook = self._before
        for fault in self._kept:
            self._before(fault)

    def _died(self, fault: threading.ExceptHookArgs) -> None:
        self._kept.append(fault)
        name = fault.thread.name if fault.thread else "nameless"
        if name not in TELL_THEMSELVES:
            self._post(Died(name, fault.exc_value))
