"""A microphone that tells what is wrong with it in its first ten seconds, and when it was away."""

from collections.abc import Callable, Iterator
from datetime import timedelta

from companion.speech.devices.microphone import Microphone, PassedOn
from companion.speech.sound.first_look import LASTS, FirstLook, of_the_device
from companion.speech.sound.samples import FRAME_TIME, Samples


class LookedAt(PassedOn):
    """See `Microphone`. Its frames pass as they are.

    Args:
        microphone: the one to look at.
        tell: shows a line.
        speaking: whether the companion's own voice may be in the air.
    """

    def __init__(
        self, microphone: Microphone, tell: Callable[[str], None], speaking: Callable[[], bool]
    ) -> None:
        super().__init__(microphone)
        self._tell = tell
        self._speaking = speaking

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`."""
        look, heard, reopened = FirstLook(), timedelta(), self.reopened
        for frame in self._microphone.frames():
            if reopened != self.reopened:
                reopened = self.reopened
                self._tell("The microphone was away for a moment. Say again what I did not answer.")
            for line in look.feed(frame, self._speaking()):
                self._tell(line)
            heard += FRAME_TIME
            if heard >= LASTS > heard - FRAME_TIME:
                for line in of_the_device(self.rate, self.dead_channel):
                    self._tell(line)
            yield frame
