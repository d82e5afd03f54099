"""Speech kept beside the log."""

import io
import wave
from collections.abc import Callable
from itertools import count
from typing import TYPE_CHECKING

from companion.logbook.job_names import checked_name

if TYPE_CHECKING:
    from companion.speech.sound.samples import Clip


def wav_bytes(clip: "Clip") -> bytes:
    """The clip as a WAV file: mono, 16 bits."""
    import numpy as np

    from companion.speech.sound.samples import RATE

    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((np.clip(clip.samples, -1.0, 1.0) * 32767).round().astype("<i2").tobytes())
    return buffer.getvalue()


def free_clip_name(job: str, name: str, taken: Callable[[str], bool]) -> str:
    """A file name that no clip of this job has yet, so that none is ever written over."""
    stem = f"{job}.{checked_name(name)}"
    if not taken(f"{stem}.wav"):
        return f"{stem}.wav"
    return next(again for n in count(2) if not taken(again := f"{stem}-{n}.wav"))
