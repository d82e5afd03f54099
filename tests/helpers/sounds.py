"""Speech from the espeak-ng library that comes with pip, quiet, and recordings of them."""

import wave
from datetime import timedelta
from pathlib import Path

import numpy as np

from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.sound.samples import RATE, Clip, Samples, silence
from tests.helpers.waiting import PATIENCE

PATIENT = timedelta(seconds=PATIENCE)
"""For a voice in a test that is not about how long one may take."""


class Talker:
    """Says sentences, each rendered once."""

    def __init__(self, voice: str = "gmw/en-us") -> None:
        self._voice = Pyttsx3Voice(voice=voice, limit=PATIENT)
        self._said: dict[tuple[str, int], Samples] = {}

    def say(self, text: str, rate: int = 150) -> Samples:
        """A sentence, nothing around it, at half the full scale of the voice."""
        if (text, rate) not in self._said:
            self._said[text, rate] = 0.5 * self._voice.render(text, rate).samples
        return self._said[text, rate]

    def alone(self, text: str, rate: int = 150) -> Clip:
        """A sentence with a quarter of a second of quiet on either side, as the ear cuts it."""
        quarter = silence(timedelta(seconds=0.25))
        return Clip(np.concatenate([quarter, self.say(text, rate), quarter]))

    def stream(self, *parts: str | float) -> Samples:
        """Sentences and pauses (in seconds) one after the other."""
        return np.concatenate([self.say(p) if isinstance(p, str) else pause(p) for p in parts])

    def close(self) -> None:
        self._voice.close()


def pause(seconds: float) -> Samples:
    """A quiet room: hiss 70 dB below full scale, the same every time."""
    return np.float32(10 ** (-70 / 20)) * hiss(seconds)


def hiss(seconds: float) -> Samples:
    """White noise with a level of full scale, the same every time."""
    return np.random.default_rng(7).standard_normal(round(seconds * RATE)).astype(np.float32)


def write_wav(path: Path, samples: Samples, rate: int = RATE, width: int = 2, channels: int = 1) -> Path:
    """A recording of so many bytes a sample: the same in every channel, or the columns as channels."""
    peak = 2 ** (8 * width - 1) - 1
    columns = samples if samples.ndim == 2 else np.repeat(samples[:, None], channels, axis=1)
    whole = np.round(np.clip(columns, -1, 1).astype(np.float64) * peak).astype("<i4").reshape(-1)
    if width == 1:
        whole += 128  # eight bits have no sign
    with wave.open(str(path), "wb") as file:
        file.setparams((columns.shape[1], width, rate, 0, "NONE", "not compressed"))
        file.writeframes(whole.view(np.uint8).reshape(-1, 4)[:, :width].tobytes())
    return path
