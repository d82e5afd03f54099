"""Somebody who works with a running companion: speaks to it, and hears it out before they answer."""

import os
from pathlib import Path

import numpy as np

from companion.speech.sound.samples import RATE
from tests.helpers.programs import Program
from tests.helpers.sounds import Talker, write_wav
from tests.helpers.waiting import until

CARD = Path(__file__).parent / "sound_card"
SILENT = 1.5
"""Seconds of silence after which the companion has finished."""
LOUD = 300
"""Of 32,767: sounds that are not the silence between two sentences."""
HEADER = 44
"""Bytes before the sound in a WAV file."""


class Mechanic:
    """Works with `companion work`, started with `arguments` and `env`."""

    says_again_after = 40.0
    """Seconds after which one who is not understood says it again."""

    def __init__(self, folder: Path, voice: str = "gmw/en-us") -> None:
        self._talker = Talker(voice)
        self._spoken = folder / "microphone"
        self._spoken.mkdir()
        self.loudspeaker = folder / "loudspeaker.wav"
        self.microphone = ("--mic", "headset")
        self.arguments = (*self.microphone, "--speaker", self.loudspeaker)
        path = os.pathsep.join(filter(None, (str(CARD), os.environ.get("PYTHONPATH"))))
        self.env = {**os.environ, "PYTHONPATH": path, "SOUND_CARD": str(self._spoken)}
        self._listened_to = 0
        self._said = 0

    def says(self, text: str, working: Program) -> str:
        """Say something now, and again when it is not heard for long; the line that shows it heard."""
        for _ in range(3):
            self._speak(text)
            if line := working.shows(f"< {text}", self.says_again_after):
                return line
        raise AssertionError(f"{text!r} was not heard; {working.told()}")

    def answers(self, text: str, working: Program) -> str:
        """The same once the companion has spoken to the end."""
        until(self._has_spoken, lambda: f"the companion says nothing; {working.told()}")
        return self.says(text, working)

    def close(self) -> None:
        self._talker.close()

    def _speak(self, text: str) -> None:
        self._said += 1
        made = write_wav(self._spoken / "being made", self._talker.stream(0.5, text, 1.0))
        made.rename(self._spoken / f"{self._said:03}.wav")

    def _has_spoken(self) -> bool:
        """Whether the companion said something since the last time, and is silent now."""
        if not self.loudspeaker.exists():
            return False
        with self.loudspeaker.open("rb") as file:
            file.seek(HEADER + 2 * self._listened_to)
            written = file.read()
        sound = np.frombuffer(written, "<i2", len(written) // 2)
        loud = np.flatnonzero(np.abs(sound.astype(int)) > LOUD)
        if not len(loud) or len(sound) - loud[-1] < SILENT * RATE:
            return False
        self._listened_to += len(sound)
        return True
