"""Taking the companion's own voice out of what the microphone hears.

An adaptive filter learns how the loudspeaker sounds at the microphone and subtracts it. Where pyaec is
installed its filter does that; elsewhere our own does (`kalman.py`). What is left over is held off by
`own_voice.py`.
"""

from collections.abc import Callable, Iterator
from typing import Any, Protocol

import numpy as np

from companion.errors import SoundError
from companion.speech.devices.microphone import Microphone
from companion.speech.sound.played import Alignment, Played
from companion.speech.sound.samples import FRAME, RATE, Samples

ROOM = 0.25
"""CHOSEN: seconds of echo that the filter can hold: a workshop's first reflections."""
_PART = 256
"""Samples the engine takes at once; half a frame, which keeps the delay short."""
_HANGS_ON = round(0.5 * RATE / FRAME)
"""Frames after which nothing is left of an echo."""
_MOSTLY_ECHO = 0.05
"""CHOSEN: share of its power that a frame keeps when nearly all of it was echo, at most. Of three values
tried on every twelfth reading, 0.12 cut into words; 0.03 and 0.05 did alike. A mechanic as loud as the echo
keeps half."""
_HELD_DOWN = 0.03
"""CHOSEN: factor on such frames."""


class Canceller(Protocol):
    """Cleans frames of the microphone."""

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """The frame that was heard, less the echo of what was played until its end."""

    def moved(self) -> None:
        """The frames are aligned otherwise from now on: what was learnt of the room's delay is void."""


class NoCanceller:
    """Leaves everything as it is: half-duplex."""

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """See `Canceller`."""
        del played
        return heard

    def moved(self) -> None:
        """See `Canceller`."""


class EchoCanceller:
    """The echo canceller of pyaec (Speex).

    Raises:
        SoundError: pyaec is not installed, or not for this machine.
    """

    def __init__(self) -> None:
        try:
            from pyaec import Aec
        except (ImportError, OSError, AttributeError) as error:
            raise SoundError(
                "echo cancelling needs pyaec, which is not installed for this machine; run: pip install pyaec"
            ) from error
        self._make: Any = Aec
        self.moved()

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """See `Canceller`. Both hold `FRAME` samples."""
        if len(heard) != FRAME or len(played) != FRAME:
            raise ValueError(f"frames have {FRAME} samples, not {len(heard)} and {len(played)}")
        parts = [
            self._engine.cancel_echo(_whole(heard[at : at + _PART]), _whole(played[at : at + _PART]))
            for at in range(0, FRAME, _PART)
        ]
        return np.concatenate(parts).astype(np.float32) / np.float32(32768)

    def moved(self) -> None:
        """See `Canceller`."""
        self._engine = self._make(_PART, round(ROOM * RATE), RATE, True)


def best_canceller() -> Canceller:
    """The one of pyaec where it can be had, else our own, which bears two clocks that disagree less well."""
    try:
        return EchoCanceller()
    except SoundError:
        from companion.speech.sound.kalman import KalmanCanceller

        return KalmanCanceller()


class EchoFree:
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
        self._microphone = microphone
        self._tell = tell
        self._told = 0
        self._canceller = canceller
        self._alignment = Alignment(played)
        self._silent = _HANGS_ON
        self._kept = 1.0
        self.name = microphone.name
        self.overflows = microphone.overflows

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`."""
        for frame in self._microphone.frames():
            if self.overflows != self._microphone.overflows:
                self.overflows = self._microphone.overflows
                self._alignment.restart()
                self._canceller.moved()
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

    def close(self) -> None:
        """See `Microphone`."""
        self._microphone.close()


def _whole(samples: Samples) -> list[int]:
    whole: list[int] = (np.clip(samples, -1, 1) * 32767).astype(np.int16).tolist()
    return whole
