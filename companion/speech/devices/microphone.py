"""Where frames come from: a sound device, or a file played as if it were one."""

import queue
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from companion.errors import SoundError
from companion.speech.sound.recordings import read_clip
from companion.speech.sound.samples import FRAME, RATE, Samples

LOST_AFTER = timedelta(seconds=1.5)
"""A device that delivers nothing for so long was pulled out."""


class MicrophoneLostError(SoundError):
    """The microphone stopped delivering."""


class Microphone(Protocol):
    """A source of frames."""

    name: str
    overflows: int
    """How many times sound was lost because nobody took it in time."""

    def frames(self) -> Iterator[Samples]:
        """Frames of `FRAME` samples, until closed.

        Raises:
            MicrophoneLostError: the device stopped delivering.
            SoundError: it cannot be opened.
        """

    def close(self) -> None:
        """Stop. Safe to call twice, from any thread."""


@dataclass(frozen=True)
class Device:
    """A sound device that can record."""

    number: int
    name: str
    rate: int
    """Its own samples per second."""
    is_default: bool


class SoundDeviceMicrophone:
    """A device of the machine, through PortAudio. Mono; resampled from the device's own rate.

    Args:
        device: number or part of the name; the system's default when None.

    Raises:
        SoundError: no PortAudio, no device, or no such device.
    """

    def __init__(self, device: int | str | None = None) -> None:
        sounddevice = import_sounddevice()
        try:
            found = sounddevice.query_devices(device, "input")
        except (ValueError, sounddevice.PortAudioError) as error:
            wanted = "no microphone was found" if device is None else f"there is no microphone {device!r}"
            raise SoundError(f"{wanted}; list them with companion hear --devices, or use --keys") from error
        self.name = str(found["name"])
        self.overflows = 0
        self._device = found["index"]
        self._rate = _usable_rate(sounddevice, self._device, int(found["default_samplerate"]))
        self._blocks: queue.Queue[Samples | None] = queue.Queue(maxsize=400)
        self._open = True

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`."""
        sounddevice = import_sounddevice()
        try:
            stream = sounddevice.InputStream(
                samplerate=self._rate,
                device=self._device,
                channels=1,
                dtype="float32",
                blocksize=round(FRAME * self._rate / RATE),
                callback=self._take,
            )
        except sounddevice.PortAudioError as error:
            raise SoundError(f"the microphone {self.name} cannot be opened ({error}); use --keys") from error
        with stream:
            yield from in_frames(self._delivered(), self._rate)

    def close(self) -> None:
        """See `Microphone`."""
        self._open = False
        try:
            self._blocks.put_nowait(None)
        except queue.Full:
            self._blocks.get_nowait()
            self._blocks.put_nowait(None)

    def _delivered(self) -> Iterator[Samples]:
        while self._open:
            try:
                block = self._blocks.get(timeout=LOST_AFTER.total_seconds())
            except queue.Empty:
                raise MicrophoneLostError(
                    f"the microphone {self.name} stopped delivering; plug it in again, or use the keys"
                ) from None
            if block is None:
                return
            yield block

    def _take(self, block: Any, _count: int, _time: Any, status: Any) -> None:
        """PortAudio's callback: copies the block, since PortAudio uses its memory again."""
        if status and status.input_overflow:
            self.overflows += 1
        try:
            self._blocks.put_nowait(block[:, 0].copy())
        except queue.Full:
            self.overflows += 1


class FileMicrophone:
    """A WAV file as a microphone, as fast as it is read.

    Raises:
        SoundError: see `recordings.read_clip`.
    """

    def __init__(self, path: Path) -> None:
        self.name = str(path)
        self.overflows = 0
        self._samples = read_clip(path).samples
        self._open = True

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`. The last frame is filled up with silence."""
        for frame in cut_in_frames(self._samples):
            if not self._open:
                return
            yield frame

    def close(self) -> None:
        """See `Microphone`."""
        self._open = False


def microphones() -> list[Device]:
    """Every device that can record.

    Raises:
        SoundError: no PortAudio.
    """
    sounddevice = import_sounddevice()
    default = sounddevice.default.device[0]
    return [
        Device(d["index"], str(d["name"]), int(d["default_samplerate"]), d["index"] == default)
        for d in sounddevice.query_devices()
        if d["max_input_channels"] > 0
    ]


def import_sounddevice() -> Any:
    """The sounddevice module, imported only now: the program must start without PortAudio.

    Raises:
        SoundError: PortAudio is not installed.
    """
    try:
        import sounddevice
    except (ImportError, OSError) as error:
        raise SoundError(
            "PortAudio is not installed, so no microphone can be used; "
            "run: apt install libportaudio2, or work with --keys"
        ) from error
    return sounddevice


def cut_in_frames(samples: Samples) -> Iterator[Samples]:
    """Frames of `FRAME` samples; the last is filled up with silence."""
    for at in range(0, len(samples), FRAME):
        frame = samples[at : at + FRAME]
        yield frame if len(frame) == FRAME else np.pad(frame, (0, FRAME - len(frame)))


def in_frames(blocks: Iterator[Samples], rate: int) -> Iterator[Samples]:
    """Blocks of any length at any rate, as frames of `FRAME` samples at `RATE`."""
    resampler: Any = None
    if rate != RATE:
        import soxr

        resampler = soxr.ResampleStream(rate, RATE, 1, dtype="float32")
    left = np.zeros(0, dtype=np.float32)
    for block in blocks:
        left = np.concatenate([left, resampler.resample_chunk(block) if resampler else block])
        while len(left) >= FRAME:
            yield left[:FRAME]
            left = left[FRAME:]


def _usable_rate(sounddevice: Any, device: int, own: int) -> int:
    """`RATE` where the device gives it, else the device's own rate."""
    try:
        sounddevice.check_input_settings(device=device, channels=1, dtype="float32", samplerate=RATE)
    except (sounddevice.PortAudioError, ValueError):
        return own
    return RATE
