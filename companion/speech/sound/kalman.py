"""An echo canceller of our own, for machines that pyaec is not made for.

A Kalman filter for each frequency of each stretch of the room's answer (Enzner and Vary 2006; in parts after
Kuech, Mabande and Enzner 2014). It knows how unsure it is. So it learns fast at first, and stands still while
the mechanic speaks.
"""

import numpy as np
from numpy.typing import NDArray

from companion.speech.sound.samples import FRAME, Samples

_PART = 256
"""Samples of one stretch of the room's answer, and of one step of the filter."""
_PARTS = 16
"""CHOSEN: 256 ms of the room."""
_STEADY = 0.9995**2
"""FITTED on a simulated room: the share of the room that stays the same from one step to the next."""
_MEMORY = 0.8
"""FITTED on the same room: how much of the last estimate of all other sound is kept in each step."""

Spectra = NDArray[np.complex128]
Powers = NDArray[np.float64]


class KalmanCanceller:
    """See `echo.Canceller`."""

    def __init__(self) -> None:
        self.moved()

    def moved(self) -> None:
        """See `echo.Canceller`: nothing is known."""
        shape = (_PARTS, _PART + 1)
        self._room: Spectra = np.zeros(shape, dtype=np.complex128)
        self._unsure: Powers = np.exp(-np.arange(_PARTS) / 4)[:, None] * np.ones(shape)
        self._played: Spectra = np.zeros(shape, dtype=np.complex128)
        self._last: NDArray[np.float64] = np.zeros(_PART)
        self._others: Powers = np.zeros(_PART + 1)

    def clean(self, heard: Samples, played: Samples) -> Samples:
        """See `echo.Canceller`. Both hold `FRAME` samples."""
        if len(heard) != FRAME or len(played) != FRAME:
            raise ValueError(f"frames have {FRAME} samples, not {len(heard)} and {len(played)}")
        parts = [self._step(heard[at:][:_PART], played[at:][:_PART]) for at in range(0, FRAME, _PART)]
        cleaned: Samples = np.concatenate(parts).astype(np.float32)
        return cleaned

    def _step(self, heard: Samples, played: Samples) -> NDArray[np.float64]:
        self._played = np.roll(self._played, 1, axis=0)
        self._played[0] = np.fft.rfft(np.concatenate([self._last, played]))
        self._last = played.astype(np.float64)
        echo = np.fft.irfft((self._room * self._played).sum(axis=0))[_PART:]
        rest = heard - echo
        spectrum = np.fft.rfft(np.concatenate([np.zeros(_PART), rest]))
        power = np.abs(self._played) ** 2
        self._others = _MEMORY * self._others + (1 - _MEMORY) * np.abs(spectrum) ** 2
        self._unsure = _STEADY * self._unsure + (1 - _STEADY) * np.abs(self._room) ** 2
        expected = 0.5 * (self._unsure * power).sum(axis=0) + self._others + 1e-9
        gain = self._unsure / expected
        answer = np.fft.irfft(gain * np.conj(self._played) * spectrum, axis=1)
        answer[:, _PART:] = 0  # a stretch holds no more than this
        self._room = self._room + np.fft.rfft(answer, axis=1)
        self._unsure = np.maximum(self._unsure * (1 - 0.5 * gain * power), 0.0)
        return rest
