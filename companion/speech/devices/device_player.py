"""A loudspeaker or headset, played in a process of its own and opened again whenever it goes away."""

from collections import deque
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Event, Thread
from time import monotonic
from typing import Any

import numpy as np

from companion.errors import SoundError
from companion.speech.devices import sound_worker as worker
from companion.speech.devices.player import Source
from companion.speech.devices.server import Changes, Device, find, plugged_in
from companion.speech.devices.sound_process import SoundGoneError, SoundProcess
from companion.speech.sound.samples import FRAME, RATE, Samples

STALLED = 2.5
"""CHOSEN: seconds in which a device that is there asks for sound; PulseAudio's null sink can take two."""
AGAIN = 0.5
"""CHOSEN: seconds between two looks for a device that has gone."""
GIVES_UP = 3.0
"""CHOSEN: seconds after which what is said is reported as not heard, and shown. The looking goes on."""
_WITHOUT = "list them with companion hear --devices, or work without sound: --keys --quiet"


class Feed:
    """A mouth read at the rate of a device, resampled without a seam from one block to the next."""

    def __init__(self, mouth: Source, rate: int) -> None:
        self._mouth = mouth
        self._waiting: Samples = np.zeros(0, dtype=np.float32)
        self._resample: Callable[[Samples], Samples] | None = None
        if rate != RATE:
            import soxr

            self._resample = soxr.ResampleStream(RATE, rate, 1, dtype="float32").resample_chunk

    def take(self, n: int) -> Samples:
        """The next `n` samples at the rate of the device."""
        if self._resample is None:
            return self._mouth.pull(n)
        while len(self._waiting) < n:
            self._waiting = np.concatenate([self._waiting, self._resample(self._mouth.pull(FRAME))])
        taken, self._waiting = self._waiting[:n], self._waiting[n:]
        return taken


class SoundDevicePlayer:
    """See `player.Player`.

    Sound waits while the device is away, and goes on where it broke off: nothing is lost in a short break.

    Args:
        mouth: what is played.
        device: number or name, also as the sound server names it; the default one when None.
        log: the file for what the sound libraries print.
    """

    def __init__(self, mouth: Source, device: str | None = None, log: Path | None = None) -> None:
        self._mouth = mouth
        self._wanted = device
        self._log = log
        self._device: Device | None = None
        self._process: SoundProcess | None = None
        self._ended = Event()
        self._changes = Changes()
        self._taken = float("-inf")
        """When the device last asked for sound."""
        self._why = "it was not started"
        self._fault: str | None = None
        self._news: deque[str] = deque()
        self.latency = 0.0
        """Seconds that the device's buffer holds."""
        self.losses = self.late = 0
        """How often the device lost sound; how often it did so because this program was late."""
        self.reopened = 0
        """How often it went away and was opened again."""
        self.gone = False
        """It is away now, and looked for."""

    def start(self) -> None:
        """Open the device.

        Raises:
            SoundError: PortAudio is missing, or there is no such output, or it is busy.
        """
        try:
            if self._wanted is not None:
                self._device = find("loudspeaker", self._wanted)
            process, feed, block = self._open()
        except SoundError as error:
            raise SoundError(f"no sound output: {error}; {_WITHOUT}") from error
        Thread(target=self._run, args=(process, feed, block), name="player", daemon=True).start()
        if self._device and self._device.through:
            Thread(target=self._watch_server, args=(self._device,), name="devices", daemon=True).start()

    def watch(self) -> str | None:
        """See `Player`. The mouth is muted when the device has been away for some seconds."""
        away = monotonic() - self._taken > GIVES_UP
        if away and self._fault is None:
            said = f"; what the sound system said is in {self._log}" if self._log else ""
            self._fault = f"the sound output has gone ({self._why}); I look for it again all the time{said}"
            self._mouth.mute(self._fault)
        elif self._fault and not away:
            self._fault = None
            self._mouth.unmute()
        return self._fault

    def news(self) -> list[str]:
        """See `Player`."""
        told = []
        with suppress(IndexError):
            while True:
                told.append(self._news.popleft())
        return told

    def close(self) -> None:
        """Let go of the device."""
        self._ended.set()
        self._changes.close()
        if self._process:
            self._process.close()

    def _open(self) -> tuple[SoundProcess, Feed, int]:
        """The device as it is now: its process, what feeds it, and how many samples it wants at once."""
        name, settings = None, {}
        if self._device:
            name, settings = self._device.through or self._device.name, self._device.settings("loudspeaker")
            if self._device.through and plugged_in("loudspeaker", self._device.name) is None:
                raise SoundError(f"{self._device.name} is not there")
        process = SoundProcess("play", name, settings, self._log)
        figures = process.opened()
        self._process = process
        if self._ended.is_set():
            process.close()
        self._taken = monotonic()
        self.latency = figures["latency"]
        shown = self._device.described or self._device.name if self._device else figures["name"]
        self._news.append(f"Loudspeaker: {shown}; sound comes {self.latency * 1000:.0f} ms late.")
        return process, Feed(self._mouth, figures["rate"]), figures["block"] // worker.WIDTH

    def _run(self, process: SoundProcess, feed: Feed, block: int) -> None:
        while not self._ended.is_set():
            try:
                self._play(process, feed, block)
            except SoundError as gone:
                self._why = str(gone)
            self.gone = True
            process.close()
            self._mouth.again()
            while not self._ended.is_set():
                try:
                    process, feed, block = self._open()
                except SoundError as error:
                    self._why = str(error)
                    self._ended.wait(AGAIN)
                else:
                    self.reopened += 1
                    self.gone = False
                    break

    def _play(self, process: SoundProcess, feed: Feed, block: int) -> None:
        """Give the device what it asks for. Raises SoundGoneError when it has gone."""
        while not self._ended.is_set():
            kind, content = process.message(STALLED)
            if kind == worker.MORE:
                self._taken = monotonic()
                process.send((feed.take(block) * 32767).astype("<i2").tobytes())
            else:
                self._take_figures(kind, process.figures(content))

    def _take_figures(self, kind: bytes, figures: dict[str, Any]) -> None:
        if kind == worker.FAILED:
            raise SoundGoneError(figures["error"])
        self.losses, self.late = figures["lost"], figures["late"]
        if figures["latency"] > self.latency:
            self.latency = figures["latency"]
            self._news.append(
                f"The loudspeaker lost sound: its buffer is {self.latency * 1000:.0f} ms from now on."
            )

    def _watch_server(self, device: Device) -> None:
        """When a device that the server named comes back, go back to it: the server has moved us away."""
        before = plugged_in("loudspeaker", device.name)
        while not self._ended.is_set():
            self._changes.wait(self._ended)
            now = plugged_in("loudspeaker", device.name)
            if now is not None and now != before:
                before = now
                if self._process:
                    self._process.close()
