"""Who says what the job has to say, and tells what became of it.

Adapters: `mouth.Mouth`, and the silent one below, which needs nothing to make sound with.
"""

from typing import Protocol

from companion.job.facts.sayings import Priority, Tone
from companion.speech.saying.happenings import Failed, Happening


class Sayer(Protocol):
    """Takes sayings in; see `Mouth` for what each of these does to the sound."""

    def say(
        self, saying_id: str, text: str, priority: Priority = Priority.ROUTINE, tone: Tone | None = None
    ) -> None:
        """Take a saying in, in words made for the ear; its happenings tell what becomes of it."""

    def sound(self, which: Tone) -> None:
        """A tone at once, over whatever is being said."""

    def stop(self) -> None:
        """Be quiet, but for a danger."""

    def louder(self) -> object:
        """One step louder."""

    def quieter(self) -> object:
        """One step quieter."""

    def faster(self) -> object:
        """One step faster."""

    def slower(self) -> object:
        """One step slower."""

    @property
    def speaking(self) -> str | None:
        """The sentence in the air; None in the pauses."""

    @property
    def idle(self) -> bool:
        """Nothing is in the air and nothing waits."""

    def events(self) -> list[Happening]:
        """What happened since the last call, in order."""

    def mute(self, reason: str) -> None:
        """Nothing can be heard, and why."""

    def close(self) -> None:
        """No more is said."""


class SilentMouth:
    """Says nothing: every saying is reported as failed, for the screen to show. Safe from two threads."""

    speaking = None
    idle = True

    def __init__(self) -> None:
        self._reason = ""
        self._failed: list[Happening] = []

    def say(
        self, saying_id: str, text: str, priority: Priority = Priority.ROUTINE, tone: Tone | None = None
    ) -> None:
        """It failed."""
        self._failed.append(Failed(saying_id, self._reason))

    def sound(self, which: Tone) -> None:
        """A tone that nobody hears is no news."""

    def stop(self) -> None:
        """There is nothing to stop."""

    louder = quieter = faster = slower = close = stop

    def events(self) -> list[Happening]:
        """See `Sayer`."""
        failed, self._failed = self._failed, []
        return failed

    def mute(self, reason: str) -> None:
        """Why nothing is heard, as reported from now on."""
        self._reason = reason
