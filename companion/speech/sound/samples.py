"""A stretch of sound, as everything in this folder passes it around."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
"""Samples per second of every clip and frame inside the program."""

FRAME = 512
"""Samples in one frame: 32 ms, the step of the voice-activity detector."""

FRAME_TIME = timedelta(seconds=FRAME / RATE)

Samples = NDArray[np.float32]
"""Mono samples at RATE, full scale from -1 to 1."""


@dataclass(frozen=True)
class Clip:
    """One utterance or recording."""

    samples: Samples
    """Mono, float32, RATE samples per second, full scale -1 to 1."""

    @property
    def duration(self) -> timedelta:
        return timedelta(seconds=len(self.samples) / RATE)


def silence(length: timedelta) -> Samples:
    """Digital silence of the given length."""
    return np.zeros(round(length.total_seconds() * RATE), dtype=np.float32)
