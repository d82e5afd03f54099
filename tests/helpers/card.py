"""One sound device without hardware, and its states: see `sound_card/sounddevice.py`."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from companion.speech.sound.samples import Samples
from tests.helpers.mechanic import CARD


class SoundCard:
    """The folder that the device lives in, and the path that leads to it."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self._folder = folder
        path = os.pathsep.join(filter(None, (str(CARD), os.environ.get("PYTHONPATH"))))
        monkeypatch.setenv("PYTHONPATH", path)
        monkeypatch.setenv("SOUND_CARD", str(folder))

    def is_now(self, state: str) -> None:
        """Unplugged, stuck or hurried, until `is_well`."""
        (self._folder / state).touch()

    def is_well(self) -> None:
        for state in ("unplugged", "stuck", "hurried"):
            (self._folder / state).unlink(missing_ok=True)

    @contextmanager
    def being(self, state: str) -> Iterator[None]:
        self.is_now(state)
        yield
        self.is_well()

    def played(self) -> Samples:
        """All that was played so far."""
        path = self._folder / "played"
        data = path.read_bytes() if path.exists() else b""
        sound = np.frombuffer(data[: len(data) // 2 * 2], "<i2").astype(np.float32) / 32767
        hundredths = np.round(sound, 2)  # what `NotedVoice` says, and not what 16 bits made of it
        return np.where(np.abs(sound - hundredths) < 1e-4, hundredths, sound).astype(np.float32)
