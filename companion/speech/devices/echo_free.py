"""A microphone without the companion's own voice in it.

The echo is subtracted (`sound/echo.py`), and frames that were nearly all echo are held down. Words that still
come through are held off by `hearing/own_voice.py`.
"""

from collections.abc import Callable, Iterator

import numpy as np

from companion.speech.devices.microphone import Microphone, PassedOn
from companion.speech.sound.echo import Canceller
from companion.speech.sound.played import Alignment, Played
from companion.speech.sound.samples import FRAME, RATE, Samples

_HANGS_ON = round(0.5 * RATE / FRAME)
"""Frames after which nothing is left of an echo."""
_MOSTLY_ECHO = 0.05
"""CHOSEN: share of its power that a frame keeps when nearly all of it was echo, at most. Of three values
tried on every twelfth reading, 0.12 cut into words; 0.03 and 0.05 did alike. A mechanic as loud as the echo
keeps half."""
_HELD_DOWN = 0.03
"""CHOSEN: factor on such frames."""


class EchoFree(PassedOn):
    """A microphone less the companion's own voice. See `microphone.Microphone`.

    While nothing was played of late its frames pass as they are.
    """

    def __init__(
        self,
        microphone: Microphone,
        played: Played,
        canceller: Canceller,
        tell: Callable[[str], None] | None = None,
    ) -> None:
        """`tell` shows, the first time and whenever it has doubled, how often sound was lost on its way."""
        super().__init__(microphone)
        self._tell = tell
        self._told = 0
        self._canceller = canceller
        self._alignment = Alignment(played)
        self._silent = _HANGS_ON
        self._kept = 1.0
        self._lost = microphone.overflows
        self._reopened = microphone.reopened

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`."""
        for frame in self._microphone.frames():
            overflows = self.overflows  # Once: the device's thread goes on counting.
            lost, self._lost = overflows - self._lost, overflows
            before, self._reopened = self._reopened, self.reopened
            if lost or before != self._reopened:
                self._alignment.restart()
                self._canceller.moved()
            if lost:
                self._tell_of_losses()
            yield self.cleaned(frame)

    def cleaned(self, frame: Samples) -> Samples:
        """One frame, heard now, less the echo in it."""
        played, moved = self._alignment.played_with(frame)
        if moved:
            self._canceller.moved()
        self._silent = 0 if np.any(played) else self._silent + 1
        if self._silent >= _HANGS_ON:
            self._kept = 1.0
            return frame
        return self._without_the_rest(frame, self._canceller.clean(frame, played))

    def _tell_of_losses(self) -> None:
        if self._tell and self.overflows >= 2 * self._told:
            self._told = self.overflows
            self._tell(
                f"Sound from the microphone was lost, {self.overflows} times so far: this machine is too "
                "busy. Close other programs."
            )

    def _without_the_rest(self, frame: Samples, cleaned: Samples) -> Samples:
        """Hold down frames of which nearly all was echo, since what is left there is echo too.

        It would be heard as speech, and no pause would end what the mechanic said.
        """
        mostly_echo = np.mean(cleaned**2) < _MOSTLY_ECHO * np.mean(frame**2)
        before, self._kept = self._kept, _HELD_DOWN if mostly_echo else 1.0
        held: Samples = cleaned * np.linspace(before, self._kept, FRAME, dtype=np.float32)
        return held
