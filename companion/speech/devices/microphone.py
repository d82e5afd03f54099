"""What a microphone is, a file in the place of one, and how blocks of sound become frames."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from companion.errors import SoundError
from companion.speech.sound.recordings import read_clip
from companion.speech.sound.samples import FRAME, RATE, Samples


class MicrophoneLostError(SoundError):
    """The microphone stopped delivering."""


class Microphone(Protocol):
    """A source of frames."""

    name: str

    @property
    def overflows(self) -> int:
        """How many times sound was lost because nobody took it in time."""

    @property
    def reopened(self) -> int:
        """How many times it went away and was found again."""

    @property
    def rate(self) -> int | None:
        """Samples per second that the device itself gives; None when that is not known."""

    @property
    def dead_channel(self) -> str | None:
        """ "left" or "right" when one of two channels gives nothing; the other one is listened to."""

    def frames(self) -> Iterator[Samples]:
        """Frames of `FRAME` samples, until closed.

        Raises:
            MicrophoneLostError: the device stopped delivering.
            SoundError: it cannot be opened.
        """

    def close(self) -> None:
        """Stop. Safe to call twice, from any thread."""


class PassedOn:
    """A microphone through which another is heard: the same in all that is not said otherwise."""

    def __init__(self, microphone: Microphone) -> None:
        self._microphone = microphone
        self.name = microphone.name

    @property
    def overflows(self) -> int:
        """See `Microphone`."""
        return self._microphone.overflows

    @property
    def reopened(self) -> int:
        """See `Microphone`."""
        return self._microphone.reopened

    @property
    def rate(self) -> int | None:
        """See `Microphone`."""
        return self._microphone.rate

    @property
    def dead_channel(self) -> str | None:
        """See `Microphone`."""
        return self._microphone.dead_channel

    def frames(self) -> Iterator[Samples]:
        """See `Microphone`."""
        yield from self._microphone.frames()

    def close(self) -> None:
        """See `Microphone`."""
        self._microphone.close()


class FileMicrophone:
    """A WAV file as a microphone, as fast as it is read.

    Raises:
        SoundError: see `recordings.read_clip`.
    """

    def __init__(self, path: Path) -> None:
        self.name = str(path)
        self.overflows = self.reopened = 0
        self.rate: int | None = None
        clip = read_clip(path)
        self.dead_channel = clip.dead_channel
        self._samples = clip.samples
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
