"""A stretch of sound, as everything in this folder passes it around.

Who only hands it on needs no numpy: without the extra `speech` there is none.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]
else:
    Samples = Any
"""Mono samples at RATE, full scale from -1 to 1."""

RATE = 16_000
"""Samples per second of every clip and frame inside the program."""

FRAME = 512
"""Samples in one frame: 32 ms, the step of the voice-activity detector."""

FRAME_TIME = timedelta(seconds=FRAME / RATE)


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
    import numpy as np

    return np.zeros(round(length.total_seconds() * RATE), dtype=np.float32)
