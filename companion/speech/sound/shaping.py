"""Bringing sound into one shape: rate, ends, loudness, and a ceiling it never passes.

The signal work is soxr's and numpy's. Levels are dB relative to full scale (dBFS).
"""

import numpy as np
from numpy.typing import NDArray

from companion.speech.sound.samples import RATE, Clip, Samples

SPEECH_LEVEL = -20.0
"""dBFS, root mean square of the parts of a sentence that are not pauses, before the volume is applied."""

_QUIET = 0.01
"""Below this share of the loudest sample an end of a clip is a pause, not speech."""
_KNEE = 0.8
"""Above this the soft limit bends."""
_BLOCK = RATE // 50


def decibels(level: float) -> float:
    """The factor on samples that a step of so many dB is."""
    return float(10.0 ** (level / 20.0))


def resample(samples: NDArray[np.floating], rate: int) -> Samples:
    """Mono samples at `rate` per second, brought to RATE."""
    if rate == RATE:
        return samples.astype(np.float32)
    import soxr

    return np.asarray(soxr.resample(samples.astype(np.float32), rate, RATE), dtype=np.float32)


def trim(samples: Samples) -> Samples:
    """Without the pauses at both ends, so that the first word comes at once."""
    loud = np.flatnonzero(np.abs(samples) > _QUIET * np.abs(samples).max(initial=0.0))
    return samples[loud[0] : loud[-1] + 1] if len(loud) else samples[:0]


def level(samples: Samples) -> float:
    """dBFS of the 20 ms blocks that carry the sound (at least a tenth of the loudest); -inf for silence."""
    blocks = samples[: len(samples) // _BLOCK * _BLOCK].reshape(-1, _BLOCK)
    power = np.mean(np.square(blocks, dtype=np.float64), axis=1)
    if not len(power) or power.max() == 0.0:
        return float("-inf")
    return float(10.0 * np.log10(power[power > 0.01 * power.max()].mean()))


def soft_limit(samples: Samples) -> Samples:
    """Unchanged up to 0.8 of full scale, bent above, always under 1: loud, never clipped."""
    size = np.abs(samples)
    bent = _KNEE + (1.0 - _KNEE) * np.tanh((size - _KNEE) / (1.0 - _KNEE))
    shaped = np.where(size <= _KNEE, samples, np.sign(samples) * np.minimum(bent, 0.9999))
    return np.asarray(shaped, dtype=np.float32)


def as_speech(samples: NDArray[np.floating], rate: int) -> Clip:
    """What every voice hands over: RATE, trimmed, at SPEECH_LEVEL, under full scale."""
    spoken = trim(resample(samples, rate))
    loudness = level(spoken)
    if np.isfinite(loudness):
        spoken = spoken * np.float32(decibels(SPEECH_LEVEL - loudness))
    return Clip(soft_limit(spoken))
