"""Taking the companion's own voice out of what the microphone hears, where pyaec is installed.

An adaptive filter learns how the loudspeaker sounds at the microphone and subtracts it. Without it the ear is
half-duplex: see `own_voice.py`.
"""

from typing import Any, Protocol

import numpy as np

from companion.errors import SoundError
from companion.speech.sound import FRAME, RATE, Samples

ROOM = 0.25
"""CHOSEN: seconds of echo that the filter can hold: a workshop's first reflections."""
_PART = 256
"""Samples the engine takes at once; half a frame, which keeps the delay short."""


class Canceller(Protocol):
    """Cleans frames of the microphone."""

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """The frame that was heard, less the echo of the one that was played at the same time."""


class NoCanceller:
    """Leaves everything as it is."""

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """See `Canceller`."""
        del played
        return heard


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
        self._engine: Any = Aec(_PART, round(ROOM * RATE), RATE, True)

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """See `Canceller`. Both hold `FRAME` samples."""
        if len(heard) != FRAME or len(played) != FRAME:
            raise ValueError(f"frames have {FRAME} samples, not {len(heard)} and {len(played)}")
        parts = [
            self._engine.cancel_echo(_whole(heard[at : at + _PART]), _whole(played[at : at + _PART]))
            for at in range(0, FRAME, _PART)
        ]
        return np.concatenate(parts).astype(np.float32) / np.float32(32768)


def best_canceller() -> Canceller:
    """The echo canceller where it can be had, else none."""
    try:
        return EchoCanceller()
    except SoundError:
        return NoCanceller()


def _whole(samples: Samples) -> list[int]:
    whole: list[int] = (np.clip(samples, -1, 1) * 32767).astype(np.int16).tolist()
    return whole
