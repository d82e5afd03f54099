"""A sound system without hardware: with this folder on its path, a sound process takes it for the real one.

It has one device, in real time, which lives in the folder `$SOUND_CARD`:

- it hears silence, and every recording that is laid there, each once and in the order of their names;
- what is played comes to lie in `played`, samples of 16 bits;
- while there is a file `unplugged` it is not there, while there is one `stuck` it gives and takes nothing,
  and while there is one `hurried` it loses some of what it is given.
"""

import os
import wave
from collections.abc import Callable
from pathlib import Path
from threading import Event, Thread
from time import monotonic
from types import SimpleNamespace

RATE = 16_000
FOLDER = Path(os.environ["SOUND_CARD"])
HEADSET = {
    "name": "headset",
    "index": 0,
    "default_samplerate": RATE,
    "max_input_channels": 1,
    "max_output_channels": 1,
}
default = SimpleNamespace(device=(0, 0))
_NEVER = Event()


class PortAudioError(Exception):
    """As the real one."""


def is_(state: str) -> bool:
    return (FOLDER / state).exists()


def query_devices(device: object = None, kind: str | None = None) -> object:
    if is_("unplugged"):
        if device is None and kind is None:
            return []
        raise PortAudioError("Error querying device -1")
    return HEADSET if device is not None or kind else [HEADSET]


def check_input_settings(**_: object) -> None:
    """It can do whatever it is asked."""


check_output_settings = check_input_settings


class Stream:
    """Goes at the pace of real time."""

    device = 0

    def __init__(self, latency: float, **_: object) -> None:
        self.latency = latency
        self._due = monotonic()

    @property
    def active(self) -> bool:
        return not is_("unplugged")

    def start(self) -> None:
        self._due = monotonic()

    def close(self) -> None:
        """Nothing to close."""

    def _wait_for(self, samples: int) -> None:
        self._due += samples / RATE
        _NEVER.wait(max(0.0, self._due - monotonic()))
        while is_("stuck"):
            _NEVER.wait(0.01)


class RawOutputStream(Stream):
    """Takes what is played."""

    def write(self, sound: bytes) -> bool:
        self._wait_for(len(sound) // 2)
        if is_("unplugged"):
            raise PortAudioError("Unanticipated host error")
        with (FOLDER / "played").open("ab") as file:
            file.write(sound)
        return is_("hurried")


class RawInputStream(Stream):
    """Gives a block to `callback` each time that one is due."""

    def __init__(self, blocksize: int, callback: Callable[..., None], latency: float, **_: object) -> None:
        super().__init__(latency)
        self._bytes = 2 * blocksize
        self._callback = callback

    def start(self) -> None:
        super().start()
        Thread(target=self._deliver, daemon=True).start()

    def _deliver(self) -> None:
        heard = b""
        while not is_("unplugged"):
            self._wait_for(self._bytes // 2)
            heard = heard or self._recording()
            block, heard = heard[: self._bytes], heard[self._bytes :]
            status = SimpleNamespace(input_overflow=is_("hurried"))
            self._callback(block.ljust(self._bytes, b"\0"), self._bytes // 2, None, status)

    def _recording(self) -> bytes:
        """The next that waits in the folder; it is not heard twice."""
        for path in sorted(FOLDER.glob("*.wav"))[:1]:
            with wave.open(str(path)) as file:
                sound = file.readframes(file.getnframes())
            path.unlink()
            return sound
        return b""
