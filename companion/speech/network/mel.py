"""The log-mel picture of a clip, as Whisper was trained on it (80 bands, 25 ms windows every 10 ms)."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from companion.speech.sound.samples import RATE, Samples

BANDS = 80
WINDOW = 400
HOP = 160
"""Samples between two frames of the picture: 10 ms."""

Mel = NDArray[np.float32]
"""Shape (BANDS, frames)."""


def log_mel(samples: Samples, length: int) -> Mel:
    """The picture of `samples`, padded with silence (or cut) to `length` samples.

    The scaling is Whisper's: log10, at most 8 below the loudest, then (x + 4) / 4.
    """
    fitted = np.zeros(length + WINDOW, dtype=np.float32)
    kept = samples[:length]
    fitted[WINDOW // 2 : WINDOW // 2 + len(kept)] = kept
    frames = np.lib.stride_tricks.sliding_window_view(fitted, WINDOW)[:length:HOP]
    power = np.abs(np.fft.rfft(frames * _window(), axis=1)) ** 2
    bands = _filters() @ power.T.astype(np.float32)
    logs = np.log10(np.maximum(bands, 1e-10))
    picture = (np.maximum(logs, logs.max() - 8.0) + 4.0) / 4.0
    return np.ascontiguousarray(picture, dtype=np.float32)


@cache
def _window() -> Samples:
    return (0.5 - 0.5 * np.cos(2 * np.pi * np.arange(WINDOW) / WINDOW)).astype(np.float32)


@cache
def _filters() -> Mel:
    """Triangles on Slaney's mel scale, each of equal area (Auditory Toolbox, 1998)."""
    bins = np.arange(WINDOW // 2 + 1) * RATE / WINDOW
    edges = _hertz(np.linspace(0.0, _mels(RATE / 2), BANDS + 2))
    rising = (bins - edges[:-2, None]) / (edges[1:-1] - edges[:-2])[:, None]
    falling = (edges[2:, None] - bins) / (edges[2:] - edges[1:-1])[:, None]
    triangles = np.maximum(0.0, np.minimum(rising, falling))
    return (triangles * (2.0 / (edges[2:] - edges[:-2]))[:, None]).astype(np.float32)


_LINEAR = 200.0 / 3
_KNEE = 1000.0
_STEP = np.log(6.4) / 27


def _mels(hertz: float) -> float:
    return hertz / _LINEAR if hertz < _KNEE else float(_KNEE / _LINEAR + np.log(hertz / _KNEE) / _STEP)


def _hertz(mels: NDArray[np.float64]) -> NDArray[np.float64]:
    knee = _KNEE / _LINEAR
    return np.where(mels < knee, mels * _LINEAR, _KNEE * np.exp((mels - knee) * _STEP))
