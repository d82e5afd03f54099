"""A microphone of the machine, recorded in a process of its own and opened again whenever it goes away."""

from collections.abc import Iterator
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import numpy as np

from companion.errors import SoundError
from companion.speech.devices import server
from companion.speech.devices import sound_worker as worker
from companion.speech.devices.microphone import MicrophoneLostError, in_frames
from companion.speech.devices.sound_process import SoundGoneError, SoundProcess
from companion.speech.sound.channels import Channels
from companion.speech.sound.samples import Samples

SILENT = 2.5
"""CHOSEN: seconds in which a device that is there gives sound."""
COMES_BACK = 2.5
"""CHOSEN: seconds in which a device that went away is looked for before its loss is told."""
AGAIN = 0.3
"""Seconds between two looks."""


class SoundDeviceMicrophone:
    """See `microphone.Microphone`. One channel is made of two; resampled from the device's own rate.

    Args:
        device: number or name, also as the sound server names it; the default one when None.
        log: the file for what the sound libraries print.

    Raises:
        SoundError: no PortAudio, no device, or no such device.
    """

    def __init__(self, device: str | None = None, log: Path | None = None) -> None:
        self._log = log
        self._open = True
        self.overflows = self.reopened = 0
        self.gone = False
        """It is away now, and looked for."""
        try:
            self._device = server.find("microphone", device) if device is not None else None
            self._process, self._figures = self._opened()
        except SoundError as error:
            wanted = "no microphone was found" if device is None else "the microphone cannot be used"
            raise SoundError(
                f"{wanted}: {error}; list them with companion hear --devices, or work with --keys"
            ) from error
        found = self._device
        self.name = found.described or found.name if found else str(self._figures["name"])
        self._channels = Channels()

    @property
    def rate(self) -> int | None:
        """See `Microphone`. Of the default device only the sound server knows it."""
        return self._device.rate if self._device else server.default_rate("microphone")

    @property
    def dead_channel(self) -> str | None:
        """See `Microphone`."""
        return self._channels.dead

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`. A short break is only counted.

        What was heard before anybody listened is thrown away, so that nothing is answered late.
        """
        self._process.skip()
        while self._open:
            try:
                yield from in_frames(self._blocks(), self._figures["rate"])
            except SoundGoneError as gone:
                self.gone = True
                self._process.close()
                self._find_again(gone)
                self.reopened += 1
                self.gone = False

    def close(self) -> None:
        """See `Microphone`."""
        self._open = False
        self._process.close()

    def _opened(self) -> tuple[SoundProcess, dict[str, Any]]:
        name, settings = None, {}
        if self._device:
            name, settings = self._device.through or self._device.name, self._device.settings("microphone")
            if self._device.through and server.plugged_in("microphone", self._device.name) is None:
                raise SoundError(f"{self._device.name} is not there")
        process = SoundProcess("record", name, settings, self._log)
        return process, process.opened()

    def _blocks(self) -> Iterator[Samples]:
        channels, lost = self._figures["channels"], 0
        while self._open:
            kind, content = self._process.message(SILENT)
            if kind == worker.SOUND:
                samples = np.frombuffer(content, "<i2").reshape(-1, channels)
                yield self._channels.mixed(samples.astype(np.float32) / np.float32(32768))
            elif kind == worker.TOLD:
                told = self._process.figures(content)["lost"]
                self.overflows += told - lost
                lost = told
            else:
                raise SoundGoneError(self._process.figures(content)["error"])

    def _find_again(self, gone: SoundError) -> None:
        end = monotonic() + COMES_BACK
        while self._open:
            try:
                self._process, self._figures = self._opened()
                return
            except SoundError as error:
                if monotonic() > end:
                    said = f" (what the sound system said is in {self._log})" if self._log else ""
                    raise MicrophoneLostError(
                        f"the microphone {self.name} stopped delivering ({gone}); plug it in again, or use "
                        f"the keys{said}"
                    ) from error
            sleep(AGAIN)
