"""WAV files of every kind, good and bad."""

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
    with pytest.raises(SoundError, match="cannot be read"):
        read_clip(tmp_path)
