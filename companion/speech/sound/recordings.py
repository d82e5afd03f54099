"""WAV files in: any rate, mono or stereo, made into what the rest of the program hears."""

import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.errors import SoundError
from companion.speech.sound.samples import RATE, Clip, Samples

SLOWEST, FASTEST = 4_000, 192_000
"""Samples per second that are accepted; a Bluetooth headset gives 8,000."""


def read_clip(path: Path) -> Clip:
    """Read a WAV file: channels mixed down, resampled to `RATE`.

    Raises:
        SoundError: missing, no WAV, an encoding other than whole-number PCM, empty, or cut short.
    """
    try:
        with wave.open(str(path), "rb") as file:
            width, channels, rate = file.getsampwidth(), file.getnchannels(), file.getframerate()
            promised = file.getnframes()
            data = file.readframes(promised)
    except FileNotFoundError as error:
        raise SoundError(f"{path}: there is no such file") from error
    except OSError as error:
        raise SoundError(f"{path}: cannot be read ({error.strerror})") from error
    except (wave.Error, EOFError) as error:
        reason = str(error) or "it ends before its header does"
        raise SoundError(f"{path}: not a WAV file of 8 to 32 bit PCM ({reason}); save it as one") from error
    if not promised or not data:
        raise SoundError(f"{path}: empty, there is no sound in it; record it again")
    if len(data) < promised * width * channels:
        held = len(data) // (width * channels)
        raise SoundError(
            f"{path}: cut short, {held} of {promised} samples are there; copy or record it again"
        )
    if not SLOWEST <= rate <= FASTEST:
        raise SoundError(f"{path}: {rate} samples a second; use {SLOWEST} to {FASTEST}")
    mono = _numbers(data, width).reshape(-1, channels).mean(axis=1, dtype=np.float32)
    return Clip(resample(mono, rate))


def resample(samples: Samples, rate: int) -> Samples:
    """Bring samples to `RATE`, with a proper low-pass."""
    if rate == RATE:
        return samples
    import soxr

    return np.asarray(soxr.resample(samples, rate, RATE), dtype=np.float32)


def _numbers(data: bytes, width: int) -> NDArray[np.float32]:
    """PCM bytes as numbers from -1 to 1. Eight bits are unsigned, the rest signed, little end first."""
    if width == 1:
        return (np.frombuffer(data, np.uint8).astype(np.float32) - 128.0) / 128.0
    if width == 3:
        padded = np.zeros((len(data) // 3, 4), np.uint8)
        padded[:, 1:] = np.frombuffer(data, np.uint8).reshape(-1, 3)
        whole = padded.reshape(-1).view("<i4")
    else:
        whole = np.frombuffer(data, f"<i{width}")
    return whole.astype(np.float32) / float(2 ** (8 * (4 if width == 3 else width) - 1))
