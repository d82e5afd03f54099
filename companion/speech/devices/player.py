"""Where the sound of a mouth goes: a loudspeaker, a file, or nowhere but the screen."""

import wave
from collections.abc import Callable
from pathlib import Path
from time import monotonic
from typing import Any, Protocol

import numpy as np

from companion.errors import SoundError
from companion.speech.sound.samples import FRAME, RATE, Samples

STALLED = 1.0
"""Seconds without a call from the sound system after which a loudspeaker counts as lost."""

_WITHOUT = "or work without sound: --keys --quiet"


class Source(Protocol):
    """Where a player takes its sound from: the mouth."""

    def pull(self, n: int) -> Samples:
        """The next `n` samples at RATE; silence where there is nothing to say."""

    def mute(self, reason: str) -> None:
        """Nothing can be heard from now on, and why."""

    def unmute(self) -> None:
        """Sound works again."""


class Player(Protocol):
    """Plays what a mouth says. Adapters: SoundDevicePlayer, PacedWavPlayer, ScreenOnlyPlayer."""

    def start(self) -> None:
        """Begin. Raises SoundError when there is no way to play."""

    def watch(self) -> str | None:
        """Call about once a second: why nothing is heard, or None while all is well.

        While nothing is heard the mouth is muted, so each saying is reported as failed.
        """

    def close(self) -> None:
        """End. Safe to call twice."""


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
    """A loudspeaker or headset, through PortAudio."""

    def __init__(self, mouth: Source, device: int | str | None = None) -> None:
        """`device` is a number or part of a name, as `python -m sounddevice` lists; None is the default."""
        self._mouth = mouth
        self._device = device
        self._stream: Any = None
        self._called = monotonic()
        self._fault: str | None = None

    def start(self) -> None:
        """Open the device at a rate that it can do.

        Raises:
            SoundError: PortAudio is missing, or there is no such output, or it is busy.
        """
        try:
            import sounddevice
        except OSError as error:
            raise SoundError(
                f"no sound output: {error}; install it (Debian: apt install libportaudio2), {_WITHOUT}"
            ) from error
        try:
            rate = self._usable_rate(sounddevice)
            self._feed = Feed(self._mouth, rate)
            self._called = monotonic()
            self._stream = sounddevice.OutputStream(
                samplerate=rate,
                channels=1,
                dtype="float32",
                device=self._device,
                latency="low",
                callback=self._play,
            )
            self._stream.start()
        except (sounddevice.PortAudioError, ValueError) as error:
            what = "no sound output" if self._device is None else f"sound output {self._device!r}"
            raise SoundError(f"{what}: {error}; choose one of `python -m sounddevice`, {_WITHOUT}") from error

    def watch(self) -> str | None:
        """Mutes the mouth when the sound system no longer asks for sound: unplugged, or gone to sleep."""
        late = self._stream is None or monotonic() - self._called > STALLED
        if late and self._fault is None:
            self._fault = "the sound output stopped taking sound; plug it in again and restart with --resume"
            self._mouth.mute(self._fault)
        elif self._fault and not late:
            self._fault = None
            self._mouth.unmute()
        return self._fault

    def close(self) -> None:
        """Let go of the device."""
        if self._stream is not None:
            stream, self._stream = self._stream, None
            stream.close()

    @staticmethod
    def _rates(default: float) -> tuple[int, ...]:
        return (RATE, int(default), 48_000, 44_100)

    def _usable_rate(self, sounddevice: Any) -> int:
        default = sounddevice.query_devices(self._device, "output")["default_samplerate"]
        for rate in self._rates(default):
            try:
                sounddevice.check_output_settings(self._device, channels=1, dtype="float32", samplerate=rate)
            except sounddevice.PortAudioError:
                continue
            return rate
        raise ValueError("it can do none of 16, 44.1 or 48 kHz in mono")

    def _play(self, out: Any, frames: int, time: Any, status: Any) -> None:
        """Called by the sound system, from its own thread."""
        self._called = monotonic()
        out[:, 0] = self._feed.take(frames)


class WavPlayer:
    """Writes what is said into a WAV file (mono, 16 bit, RATE), in whatever time `play` is called."""

    def __init__(self, mouth: Source, path: Path) -> None:
        self._mouth = mouth
        self._path = path
        self._file: wave.Wave_write | None = None

    def start(self) -> None:
        """Open the file. Raises SoundError when it cannot be written."""
        try:
            self._raw = self._path.open("wb")
        except OSError as error:
            raise self._failed(error) from error
        self._file = wave.open(self._raw, "wb")  # noqa: SIM115 - it lives as long as the player
        self._file.setparams((1, 2, RATE, 0, "NONE", "not compressed"))

    def play(self, n: int) -> Samples:
        """Pull `n` samples, write them, and return them. Raises SoundError when the disk is full."""
        if self._file is None:
            self.start()
        assert self._file
        samples = self._mouth.pull(n)
        try:
            self._file.writeframes((samples * 32767).astype("<i2").tobytes())
        except OSError as error:
            raise self._failed(error) from error
        return samples

    def watch(self) -> str | None:
        """A file is always there."""
        return None

    def close(self) -> None:
        """Complete the file. Raises SoundError when the disk is full."""
        if self._file:
            file, self._file = self._file, None
            try:
                file.close()
                self._raw.close()
            except OSError as error:
                raise self._failed(error) from error

    def _failed(self, error: OSError) -> SoundError:
        return SoundError(
            f"{self._path}: cannot be written ({error.strerror}); choose another place or free some"
        )


class ScreenOnlyPlayer:
    """No sound at all: every saying is reported as not played, for the screen to show."""

    def __init__(self, mouth: Source, reason: str = "working without sound") -> None:
        self._mouth = mouth
        self._reason = reason

    def start(self) -> None:
        """From now on the mouth reports each saying as failed, with the reason."""
        self._mouth.mute(self._reason)

    def watch(self) -> str | None:
        """The reason that was given."""
        return self._reason

    def close(self) -> None:
        """Nothing to end."""
