"""Speech for the tests, from the espeak-ng library that comes with pip, and models loaded once."""

from collections.abc import Iterator
from datetime import timedelta

import numpy as np
import pytest

from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.sound.samples import RATE, Clip, Samples, silence


class Talker:
    """Says sentences, each rendered once."""

    def __init__(self, voice: str = "gmw/en-us") -> None:
        self._voice = Pyttsx3Voice(voice=voice)
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
    noise = np.random.default_rng(7).standard_normal(round(seconds * RATE)).astype(np.float32)
    return noise * np.float32(10 ** (-70 / 20))


@pytest.fixture(scope="session")
def talker() -> Iterator[Talker]:
    talker = Talker()
    yield talker
    talker.close()


@pytest.fixture(scope="session")
def korean() -> Iterator[Talker]:
    talker = Talker("ko")
    yield talker
    talker.close()


@pytest.fixture(scope="session")
def embedded() -> EmbeddedRecogniser:
    return EmbeddedRecogniser()
