"""A sound system without hardware, which a companion in a process of its own takes for the real one.

It does so when this folder comes first on its path. There is one microphone, in real time: it hears silence,
and every recording that is laid into the folder `$SOUND_CARD`, each once and in the order of their names.
"""

import os
import wave
from collections.abc import Callable
from pathlib import Path
from threading import Event, Thread
from time import monotonic

import numpy as np
from numpy.typing import NDArray

RATE = 16_000


class PortAudioError(Exception):
    """As the real one; it never comes."""


def query_devices(device: object = None, kind: str | None = None) -> dict[str, object]:
    return {"name": "headset", "index": 0, "default_samplerate": RATE}


def check_input_settings(**_: object) -> None:
    """It can do whatever it is asked."""


class InputStream:
    """Gives a block to `callback` each time that one is due."""

    def __init__(self, blocksize: int, callback: Callable[..., None], **_: object) -> None:
        self._size = blocksize
        self._callback = callback
        self._folder = Path(os.environ["SOUND_CARD"])
        self._ended = Event()
        self._thread = Thread(target=self._deliver, daemon=True)

    def __enter__(self) -> None:
        self._thread.start()

    def __exit__(self, *_: object) -> None:
        self._ended.set()
        self._thread.join()

    def _deliver(self) -> None:
        heard = np.zeros(0, np.float32)
        due = monotonic()
        while not self._ended.is_set():
            due += self._size / RATE
            self._ended.wait(max(0.0, due - monotonic()))
            heard = heard if len(heard) else self._recording()
            block, heard = heard[: self._size], heard[self._size :]
            block = np.pad(block, (0, self._size - len(block)))
            self._callback(block[:, None], self._size, None, None)

    def _recording(self) -> NDArray[np.float32]:
        """The next that waits in the folder; it is not heard twice."""
        for path in sorted(self._folder.glob("*.wav"))[:1]:
            with wave.open(str(path)) as file:
                sound = np.frombuffer(file.readframes(file.getnframes()), "<i2")
            path.unlink()
            return sound.astype(np.float32) / 32768
        return np.zeros(0, np.float32)
