"""Taking the companion's own voice out of what the microphone hears.

An adaptive filter learns how the loudspeaker sounds at the microphone, and subtracts it. Where pyaec is
installed its filter does that; elsewhere our own does (`kalman.py`).
"""

from typing import Any, Protocol

import numpy as np

from companion.errors import SoundError
from companion.speech.sound.samples import FRAME, RATE, Samples

ROOM = 0.25
"""CHOSEN: seconds of echo that the filter can hold: a workshop's first reflections."""
_PART = 256
"""Samples the engine takes at once; half a frame, which keeps the delay short."""


class Canceller(Protocol):
    """Cleans frames of the microphone."""

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """The frame that was heard, without the echo of what was played. Both end at the same moment."""

    def moved(self) -> None:
        """The two are aligned differently from now on: forget what was learnt of the delay."""


class NoCanceller:
    """The fake: leaves the echo in."""

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
    """The one of pyaec where it is installed, else our own, which suffers more from two unequal clocks."""
    try:
        return EchoCanceller()
    except SoundError:
        from companion.speech.sound.kalman import KalmanCanceller

        return KalmanCanceller()


def _whole(samples: Samples) -> list[int]:
    whole: list[int] = (np.clip(samples, -1, 1) * 32767).astype(np.int16).tolist()
    return whole
