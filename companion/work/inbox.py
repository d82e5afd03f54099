"""The one inbox: whatever happens is posted here, and taken out in order by one thread.

A typed line is understood when its turn comes, not when it is typed: what can be said then decides.
"""

from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import Protocol

from companion.job.messages import Message


@dataclass(frozen=True)
class Typed:
    """A typed line. What it means depends on what can be said when its turn comes, not when it was typed."""

    text: str


@dataclass(frozen=True)
class Died:
    """A thread of the companion ended by a fault: a part of it is missing."""

    part: str
    error: BaseException | None


@dataclass(frozen=True)
class TooLong:
    """A typed line that is longer than any that is taken; nothing of it counts."""

    length: int
    """In characters, or in bytes when it was never read as a whole."""


@dataclass(frozen=True)
class NothingTyped:
    """The standard input has ended, and nothing was ever typed: there is no keyboard here."""


News = Message | Typed | TooLong | NothingTyped | Died


class Post(Protocol):
    """Anything that takes messages; called from any thread, never blocks."""

    def __call__(self, message: News) -> None: ...


class Inbox:
    """A queue of messages."""

    def __init__(self) -> None:
        self._queue: SimpleQueue[News] = SimpleQueue()

    def post(self, message: News) -> None:
        """Put a message in; safe from any thread."""
        self._queue.put(message)

    def take(self, seconds: float) -> News | None:
        """The next message; None when none came within that time."""
        try:
            return self._queue.get(timeout=seconds)
        except Empty:
            return None

    def drain(self) -> list[News]:
        """All messages that are in now."""
        found = []
        while not self._queue.empty():
            found.append(self._queue.get_nowait())
        return found
