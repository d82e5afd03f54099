"""How loud a place is: levels of sound in decibels below full scale, and in dB(A) where that can be known.

A microphone without a calibration says how much louder one thing is than another, never how loud it is in the
room. With the reading of a sound level meter beside the microphone, the offset between the two is known.
"""

from collections import deque
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from companion.speech.sound.samples import FRAME_TIME, RATE, Samples

SILENCE = -120.0
"""Decibels below full scale that stand for nothing at all."""
CLIPPED = 0.999
"""From this share of full scale a sample counts as cut off."""
BACKGROUND = 10
"""Percentile of the frame levels that counts as the background: what is exceeded nine tenths of the time."""
WINDOW = timedelta(seconds=30)
"""How much of the latest sound a meter looks at."""
UNCALIBRATED = (
    "the microphone is not calibrated, so how loud it is in the room cannot be told, only how it compares"
)


def rms(samples: Samples) -> float:
    """Level of some sound in dB below full scale: 0 is a square wave from rail to rail, a full sine is -3."""
    return _decibels(float(np.mean(np.square(samples, dtype=np.float64)))) if len(samples) else SILENCE


def a_weighted(samples: Samples) -> float:
    """The same with the A-weighting, so that what the ear hardly hears counts little.

    The samples are faded in and out, which suits steady sound of 30 ms or more.
    """
    if len(samples) < 2:
        return SILENCE
    fade = np.hanning(len(samples))
    spectrum = np.fft.rfft(samples * fade)
    powers = np.abs(spectrum) ** 2
    powers[1 : (len(samples) + 1) // 2] *= 2
    gains = 10 ** (a_weighting(np.fft.rfftfreq(len(samples), 1 / RATE).astype(np.float64)) / 10)
    return _decibels(float(np.sum(powers * gains) / (len(samples) * np.sum(fade**2))))


def a_weighting(hertz: NDArray[np.float64]) -> NDArray[np.float64]:
    """The A-weighting in dB at each frequency, 0 dB at 1 kHz (IEC 61672-1, annex E: poles and formula)."""
    f2 = np.square(hertz)
    with np.errstate(divide="ignore"):
        gain = (12194.217**2 * f2**2) / (
            (f2 + 20.598997**2) * np.sqrt((f2 + 107.65265**2) * (f2 + 737.86223**2)) * (f2 + 12194.217**2)
        )
        decibels: NDArray[np.float64] = 20 * np.log10(gain) + 2.0
    return decibels


def clipped(samples: Samples) -> float:
    """Share of the samples that reach full scale, 0 to 1."""
    return float(np.mean(np.abs(samples) >= CLIPPED)) if len(samples) else 0.0


def combined(levels: NDArray[np.float64]) -> float:
    """The level of several stretches of equal length taken together: the mean of their powers."""
    return _decibels(float(np.mean(10 ** (levels / 10)))) if len(levels) else SILENCE


@dataclass(frozen=True)
class Ambient:
    """What a place sounds like while nobody speaks to the companion."""

    level: float
    """Energy mean, dB below full scale, A-weighted."""
    background: float
    """Exceeded nine tenths of the time, dB below full scale, A-weighted."""
    lasted: timedelta
    """How much sound this is made from."""
    dba: float | None = None
    """`level` as dB(A) in the room; None when the microphone is not calibrated."""

    def calibrated(self, calibration: float | None) -> "Ambient":
        """The same, through a microphone of which this is known (see `LevelMeter`)."""
        return replace(self, dba=None if calibration is None else self.level + calibration)

    def __str__(self) -> str:
        if self.dba is None:
            return f"{self.level:.0f} dB of full scale ({UNCALIBRATED})"
        return f"{self.dba:.0f} dB(A)"


class LevelMeter:
    """Follows the latest sound of a place.

    Args:
        calibration: what to add to a level below full scale to have dB(A) in the room: the reading of a sound
            level meter beside the microphone, less the level measured here. None when nobody has measured it.
        window: how much of the latest sound counts.
    """

    def __init__(self, calibration: float | None = None, window: timedelta = WINDOW) -> None:
        self.calibration = calibration
        self._levels: deque[float] = deque(maxlen=max(1, round(window / FRAME_TIME)))

    def feed(self, frame: Samples) -> None:
        """Take the next frame. Leave out those that hold the companion's own voice."""
        self._levels.append(a_weighted(frame))

    def ambient(self) -> Ambient | None:
        """What was measured; None before the first frame."""
        if not self._levels:
            return None
        levels = np.array(self._levels)
        level = combined(levels)
        return Ambient(
            level=level,
            background=float(np.percentile(levels, BACKGROUND)),
            lasted=len(levels) * FRAME_TIME,
            dba=None if self.calibration is None else level + self.calibration,
        )


def _decibels(power: float) -> float:
    return max(SILENCE, 10 * float(np.log10(power))) if power > 0 else SILENCE
