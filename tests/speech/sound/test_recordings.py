"""WAV files of every kind, good and bad."""

import os
import random
import struct
from pathlib import Path

import numpy as np
import pytest

from companion.errors import SoundError
from companion.speech.sound.recordings import read_clip
from companion.speech.sound.samples import RATE
from tests.helpers.sounds import write_wav
from tests.speech.fakes import tone


@pytest.mark.parametrize("rate", [8_000, 16_000, 22_050, 44_100, 48_000])
@pytest.mark.parametrize("channels", [1, 2])
def test_any_rate_mono_or_stereo(tmp_path: Path, rate: int, channels: int) -> None:
    clip = read_clip(write_wav(tmp_path / "a.wav", tone(rate), rate, channels=channels))
    assert len(clip.samples) == pytest.approx(RATE / 2, abs=2)
    spectrum = np.abs(np.fft.rfft(clip.samples))
    assert np.argmax(spectrum) * 2 == pytest.approx(440, abs=2)
    assert np.abs(clip.samples).max() == pytest.approx(0.5, abs=0.03)


@pytest.mark.parametrize("width", [1, 2, 3, 4])
def test_any_width_of_sample(tmp_path: Path, width: int) -> None:
    clip = read_clip(write_wav(tmp_path / "a.wav", tone(RATE), width=width))
    np.testing.assert_allclose(clip.samples, tone(RATE), atol=2 / 2 ** (8 * width - 1) + 1e-6)


def test_bad_files_are_told_in_one_line(tmp_path: Path) -> None:
    good = write_wav(tmp_path / "good.wav", tone(RATE)).read_bytes()
    floating = bytearray(good)
    floating[20:22] = struct.pack("<H", 3)
    cases = {
        "empty.wav": (b"", "not a WAV"),
        "text.wav": (b"this is not sound at all, sorry", "not a WAV"),
        "head.wav": (good[:30], "not a WAV"),
        "cut.wav": (good[: len(good) // 2], r"cut short, \d+ of 8000"),
        "silent.wav": (write_wav(tmp_path / "none.wav", np.zeros(0)).read_bytes(), "empty"),
        "float.wav": (bytes(floating), "PCM"),
        "slow.wav": (
            write_wav(tmp_path / "s.wav", tone(RATE), rate=1000).read_bytes(),
            "1000 samples a second",
        ),
    }
    for name, (content, message) in cases.items():
        path = tmp_path / name
        path.write_bytes(content)
        with pytest.raises(SoundError, match=message) as caught:
            read_clip(path)
        assert str(caught.value).startswith(str(path))
        assert "\n" not in str(caught.value)
    with pytest.raises(SoundError, match="no such file"):
        read_clip(tmp_path / "nowhere.wav")
    with pytest.raises(SoundError, match="not a plain file"):
        read_clip(tmp_path)
    os.mkfifo(tmp_path / "pipe.wav")
    with pytest.raises(SoundError, match="not a plain file"):
        read_clip(tmp_path / "pipe.wav")


def extensible(samples: np.ndarray, kind: int, bits: int, channels: int) -> bytes:
    """A WAV file with the longer header that recorders give for 24 bits and for many channels."""
    spread = np.repeat(samples, channels)
    if kind == 3:
        data = spread.astype(f"<f{bits // 8}").tobytes()
    else:
        whole = np.round(spread * (2.0 ** (bits - 1) - 1)).astype("<i4")
        data = (
            whole.tobytes() if bits == 32 else whole.view(np.uint8).reshape(-1, 4)[:, : bits // 8].tobytes()
        )
    frame = channels * bits // 8
    guid = struct.pack("<H", kind) + bytes.fromhex("000000001000800000aa00389b71")
    head = struct.pack("<HHIIHHHHI", 0xFFFE, channels, RATE, RATE * frame, frame, bits, 22, bits, 0) + guid
    body = b"WAVEfmt " + struct.pack("<I", len(head)) + head + b"data" + struct.pack("<I", len(data)) + data
    return b"RIFF" + struct.pack("<I", len(body)) + body


@pytest.mark.parametrize(("kind", "bits"), [(1, 16), (1, 24), (1, 32), (3, 32), (3, 64)])
@pytest.mark.parametrize("channels", [1, 2, 8])
def test_the_longer_header_of_many_channels_and_wide_samples(tmp_path, kind, bits, channels):
    path = tmp_path / "a.wav"
    path.write_bytes(extensible(tone(RATE), kind, bits, channels))
    np.testing.assert_allclose(read_clip(path).samples, tone(RATE), atol=1e-4)


def test_a_recorder_on_a_pipe_does_not_know_the_length(tmp_path):
    path = write_wav(tmp_path / "a.wav", tone(RATE))
    content = bytearray(path.read_bytes())
    content[4:8] = content[40:44] = b"\xff\xff\xff\x7f"
    path.write_bytes(content)
    np.testing.assert_allclose(read_clip(path).samples, tone(RATE), atol=1e-4)


def test_whatever_stands_in_a_header_it_is_read_or_told_in_one_line(tmp_path):
    rng = random.Random(4)
    wholes = [write_wav(tmp_path / "a.wav", tone(RATE)).read_bytes(), extensible(tone(RATE), 1, 24, 2)]
    path = tmp_path / "odd.wav"
    refused = 0
    for _ in range(4000):
        content = bytearray(rng.choice(wholes)[: rng.choice((44, 60, 68, 2000, 40_000))])
        for _ in range(rng.randrange(1, 5)):
            content[rng.randrange(min(80, len(content)))] = rng.choice((0, 1, 2, 255, rng.randrange(256)))
        path.write_bytes(content)
        try:
            read_clip(path)
        except SoundError as error:
            refused += "\n" not in str(error)
    assert 1000 < refused < 4000
