"""The one inbox: whatever happens is posted here, and taken out in order by one thread.

A typed line is understood when its turn comes, not when it is typed: what can be said then decides.
"""

from contextlib import suppress
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import Protocol

from companion.job.facts.commands import Command
from companion.job.messages import Heard, Message, Unsure


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
    """A queue of messages; "stop work" goes first, whatever a stuck key has put before it."""

    def __init__(self) -> None:
        # Only these queues may be posted to by a signal that comes while the same thread takes from them.
        self._queue: SimpleQueue[News | None] = SimpleQueue()
        self._first: SimpleQueue[News] = SimpleQueue()

    def post(self, message: News) -> None:
        """Put a message in; safe from any thread."""
        if isinstance(message, Heard | Unsure) and message.command is Command.STOP_WORK:
            self._first.put(message)
            self._queue.put(None)  # wakes whoever waits
        else:
            self._queue.put(message)

    def take(self, seconds: float) -> News | None:
        """The next message; None when none came within that time."""
        with suppress(Empty):
            while self._first.empty():
                if (news := self._queue.get(timeout=seconds)) is not None:
                    return news
            return self._first.get_nowait()
        return None

    def drain(self) -> list[News]:
        """All messages that are in now."""
        found = []
        while news := self.take(0):
            found.append(news)
        return found
