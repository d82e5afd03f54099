"""What the mechanic sees: a view is told of everything said and heard, and shows where the job stands.

Any thread may tell it things, and none ever waits for it.

Adapters: `screen.FullScreen` (readable from two metres), `lines.PlainLines` (no terminal needed).
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from companion.job.facts.sayings import Saying
from companion.job.facts.state import State
from companion.job.messages import Message


class View(Protocol):
    """Shows the job."""

    def heard(self, message: Message) -> None:
        """A message was taken from the inbox."""

    def said(self, saying: Saying) -> None:
        """Something is being said."""

    def warn(self, text: str) -> None:
        """Something about the companion itself: no sound, a torn log."""

    def tell(self, text: str) -> None:
        """Something worth knowing that is not said: where a page was written."""

    def typing(self, text: str) -> None:
        """What has been typed so far."""

    def show(self, state: State, now: datetime) -> None:
        """The state after a message; also called about once a second."""

    def close(self, kept: Sequence[str] = ()) -> None:
        """Give the terminal back, and leave these lines on it. Safe to call twice; the first counts."""
