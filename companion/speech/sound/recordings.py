"""WAV files in: any rate, any channels, whole numbers or floats, made into what the program hears."""

import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.errors import SoundError
from companion.speech.sound.channels import dead, mixed
from companion.speech.sound.samples import RATE, Clip, Samples

SLOWEST, FASTEST = 4_000, 192_000
"""Samples per second that are accepted; a Bluetooth headset gives 8,000."""
LARGEST = 1 << 30
"""Bytes; nine hours of speech at this program's own rate."""
MOST_CHANNELS = 32
_UNKNOWN = 0x7FFF_0000
_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_KINDS = {(_PCM, 8), (_PCM, 16), (_PCM, 24), (_PCM, 32), (_FLOAT, 32), (_FLOAT, 64)}


@dataclass(frozen=True)
class _Format:
    """What a WAV file says of its samples."""

    kind: int
    channels: int
    rate: int
    bits: int

    @property
    def frame(self) -> int:
        """Bytes of one sample of every channel."""
        return self.channels * self.bits // 8


@dataclass(frozen=True)
class Recording(Clip):
    """A clip that was read from a file."""

    dead_channel: str | None = None
    """ "left" or "right" when one of its two channels held nothing, and so was left out."""


def read_clip(path: Path) -> Recording:
    """Read a WAV file: channels made into one, resampled to `RATE`.

    Raises:
        SoundError: missing, no WAV, an encoding other than PCM, empty, too large or cut short.
    """
    content = _load(path)
    chunks = _chunks(content, path)
    form = _format(chunks.get(b"fmt ", (b"", 0))[0], path)
    if not SLOWEST <= form.rate <= FASTEST:
        raise SoundError(f"{path}: {form.rate} samples a second; use {SLOWEST} to {FASTEST}")
    data, promised = chunks.get(b"data", (b"", 0))
    if promised < form.frame or not data:
        raise SoundError(f"{path}: empty, there is no sound in it; record it again")
    held = len(data) // form.frame
    if len(data) < promised:
        whole = promised // form.frame
        raise SoundError(f"{path}: cut short, {held} of {whole} samples are there; copy or record it again")
    sound = _numbers(data[: held * form.frame], form).reshape(-1, form.channels)
    levels = np.sqrt(np.mean(np.square(sound, dtype=np.float64), axis=0))
    silent = dead(levels) if form.channels == 2 else None
    return Recording(resample(mixed(sound, silent), form.rate), silent)


def _load(path: Path) -> bytes:
    try:
        if path.exists() and not path.is_file():
            raise SoundError(f"{path}: not a plain file; name a WAV file")
        with path.open("rb") as file:
            content = file.read(LARGEST + 1)
    except FileNotFoundError as error:
        raise SoundError(f"{path}: there is no such file") from error
    except (OSError, ValueError) as error:
        reason = (error.strerror or error) if isinstance(error, OSError) else error
        raise SoundError(f"{path}: cannot be read ({reason})") from error
    if len(content) > LARGEST:
        raise SoundError(f"{path}: larger than {LARGEST >> 20} MB; cut it into shorter recordings")
    return content


def _chunks(content: bytes, path: Path) -> dict[bytes, tuple[bytes, int]]:
    """The first chunk of each name: what is there of it, and how long it claims to be."""
    if content[:4] != b"RIFF" or content[8:12] != b"WAVE":
        raise _no_wav(path, "it does not begin as one")
    found: dict[bytes, tuple[bytes, int]] = {}
    at = 12
    while at + 8 <= len(content) and b"data" not in found:
        name, size = content[at : at + 4], int.from_bytes(content[at + 4 : at + 8], "little")
        there = content[at + 8 : at + 8 + size]
        # A recorder that writes into a pipe cannot know the length, and gives the largest there is.
        found.setdefault(name, (there, len(there) if size >= _UNKNOWN else size))
        at += 8 + size + size % 2
    return found


def _format(chunk: bytes, path: Path) -> _Format:
    if len(chunk) < 16:
        raise _no_wav(path, "it ends before its header does")
    kind, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", chunk)
    if kind == _EXTENSIBLE and len(chunk) >= 26:
        # The true kind stands first in a GUID at the end of the longer header.
        kind = int.from_bytes(chunk[24:26], "little")
    if (kind, bits) not in _KINDS:
        raise _no_wav(path, f"encoding {kind}, {bits} bit")
    if not 1 <= channels <= MOST_CHANNELS:
        raise _no_wav(path, f"{channels} channels")
    return _Format(kind, channels, rate, bits)


def _no_wav(path: Path, why: str) -> SoundError:
    return SoundError(f"{path}: not a WAV file of 8 to 32 bit PCM or float ({why}); save it as one")


def resample(samples: Samples, rate: int) -> Samples:
    """Bring samples to `RATE`, with a proper low-pass."""
    if rate == RATE:
        return samples
    import soxr

    return np.asarray(soxr.resample(samples, rate, RATE), dtype=np.float32)


def _numbers(data: bytes, form: _Format) -> NDArray[np.float32]:
    """Samples as numbers from -1 to 1, little end first. Eight bits are unsigned, wider ones signed."""
    if form.kind == _FLOAT:
        floats = np.frombuffer(data, f"<f{form.bits // 8}").astype(np.float32)
        return np.clip(np.nan_to_num(floats, nan=0.0), -1.0, 1.0)
    if form.bits == 8:
        return (np.frombuffer(data, np.uint8).astype(np.float32) - 128.0) / 128.0
    if form.bits == 24:
        padded = np.zeros((len(data) // 3, 4), np.uint8)
        padded[:, 1:] = np.frombuffer(data, np.uint8).reshape(-1, 3)
        return padded.reshape(-1).view("<i4").astype(np.float32) / float(1 << 31)
    whole = np.frombuffer(data, f"<i{form.bits // 8}")
    return whole.astype(np.float32) / float(1 << (form.bits - 1))
