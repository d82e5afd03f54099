"""The other end of `sound_worker.py`: starts the process that plays or records, talks to it, and ends it.

What the sound libraries print there goes to a file, and never over the screen.
"""

import json
import os
import select
import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from time import monotonic
from typing import Any

import companion
from companion.errors import SoundError
from companion.speech.devices import sound_worker as worker
from companion.speech.sound.samples import FRAME, RATE

OPENS_WITHIN = 8.0
"""CHOSEN: seconds; a busy machine needs one."""
_BLOCK = {"play": FRAME // 2, "record": FRAME, "list": FRAME}
"""Samples that are sent at once; what waits to be played makes answers late."""
LATENCY = {"play": 0.1, "record": 0.3, "list": 0.0}
"""CHOSEN: seconds of the device's buffer to begin with. Measured with PulseAudio on two busy cores: to play
with 0.035 lost sound every few seconds, with 0.1 it did not; to record with 0.3 was as quick as with 0.1."""
_AT_ONCE = 0.01
"""Seconds in which the next message follows when it is waiting already."""
KEPT = 400
"""Blocks of 32 ms that a microphone keeps while nobody takes them."""
_LOG_HOLDS = 1_000_000
"""CHOSEN: bytes; a log that is longer is begun anew."""
LOG_NAME = "sound.log"
"""In the folder of the logs: what the sound libraries had to say."""


class SoundGoneError(SoundError):
    """The process ended or was ended: its device is not there any more."""


class SoundProcess:
    """One device being played or recorded.

    Args:
        do: "play", "record" or "list".
        device: PortAudio's name for it; the default one when None.
        settings: environment of the process; with these a sound server picks the device.
        log: the file for what the libraries print; thrown away when None.
    """

    def __init__(
        self,
        do: str,
        device: str | None = None,
        settings: dict[str, str] | None = None,
        log: Path | None = None,
    ) -> None:
        request = {
            "do": do,
            "device": device,
            "latency": LATENCY[do],
            "rate": RATE,
            "frame": _BLOCK[do],
            "kept": KEPT,
        }
        package = str(Path(companion.__file__).parent.parent)
        path = os.pathsep.join(filter(None, (package, os.environ.get("PYTHONPATH"))))
        with _opened(log) as printed:
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", worker.__name__, json.dumps(request)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=printed,
                env={**os.environ, **(settings or {}), "PYTHONPATH": path},
                bufsize=0,
                start_new_session=True,  # control-C is for the job, which ends this process itself
            )

    def opened(self) -> dict[str, Any]:
        """Wait until the device is open, or the devices are listed; what is known of them.

        Raises:
            SoundError: it cannot be opened, and why.
        """
        try:
            kind, content = self.message(OPENS_WITHIN)
        except SoundGoneError as error:
            self.close()
            raise SoundError(f"it does not open ({error}): is the sound server well?") from error
        found = self.figures(content)
        if kind == worker.FAILED:
            self.close()
            raise SoundError(_why_missing() if found["missing"] else found["error"])
        return found

    def figures(self, content: bytes) -> dict[str, Any]:
        """What a message holds that is no sound."""
        found: dict[str, Any] = json.loads(content)
        return found

    def message(self, seconds: float) -> tuple[bytes, bytes]:
        """The next message: its kind and content.

        Raises:
            SoundGoneError: none came in time, or the process has ended.
        """
        end = monotonic() + seconds
        kind, length = worker.HEAD.unpack(self._read(worker.HEAD.size, end))
        return kind, self._read(length, end)

    def skip(self) -> None:
        """Throw away what has come so far."""
        with suppress(SoundGoneError):
            while self._is_ready(_AT_ONCE):
                self.message(OPENS_WITHIN)

    def send(self, sound: bytes) -> None:
        """The block that was asked for. Raises SoundGoneError when nobody takes it."""
        assert self._process.stdin
        try:
            self._process.stdin.write(sound)
        except (OSError, ValueError) as error:
            raise SoundGoneError("it stopped taking sound") from error

    def close(self) -> None:
        """End the process. Safe to call twice, from any thread."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            with suppress(OSError):
                if pipe:
                    pipe.close()

    def _read(self, size: int, end: float) -> bytes:
        assert self._process.stdout
        data = b""
        while len(data) < size:
            if not self._is_ready(max(0.0, end - monotonic())):
                raise SoundGoneError("it gave no sign any more")
            try:
                more = os.read(self._process.stdout.fileno(), size - len(data))
            except (OSError, ValueError) as error:  # closed by another thread
                raise SoundGoneError("it was closed") from error
            if not more:
                raise SoundGoneError("its device has gone")
            data += more
        return data

    def _is_ready(self, seconds: float) -> bool:
        assert self._process.stdout
        try:
            return bool(select.select([self._process.stdout], [], [], seconds)[0])
        except (OSError, ValueError) as error:
            raise SoundGoneError("it was closed") from error


def listed() -> list[dict[str, Any]]:
    """Every device that PortAudio finds now.

    Raises:
        SoundError: PortAudio is not installed.
    """
    process = SoundProcess("list")
    try:
        devices: list[dict[str, Any]] = process.opened()["devices"]
    finally:
        process.close()
    return devices


def _opened(log: Path | None) -> Any:
    """The file for what is printed. A log that cannot be written is no reason to be without sound."""
    if log is not None:
        with suppress(OSError):
            full = log.exists() and log.stat().st_size > _LOG_HOLDS
            return log.open("wb" if full else "ab")
    return open(os.devnull, "wb")


def _why_missing() -> str:
    return "PortAudio is not installed, so there is no sound; run: apt install libportaudio2"
