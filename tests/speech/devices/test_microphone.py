"""Microphones: files in their place, and devices of any rate."""

from pathlib import Path

import numpy as np
import pytest

from companion.speech.devices import microphone as mic
from companion.speech.sound.samples import FRAME, RATE
from tests.helpers.sounds import write_wav
from tests.speech.fakes import tone


def test_a_file_is_a_microphone(tmp_path: Path) -> None:
    source = mic.FileMicrophone(write_wav(tmp_path / "a.wav", tone(RATE, 0.1)))
    frames = list(source.frames())
    assert {len(frame) for frame in frames} == {FRAME}
    assert len(frames) == 4
    source.close()
    assert list(source.frames()) == []


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100])
def test_blocks_of_a_device_become_frames(rate: int) -> None:
    blocks = np.array_split(tone(rate, 1.0).astype(np.float32), 37)
    frames = list(mic.in_frames(iter(blocks), rate))
    assert {len(frame) for frame in frames} == {FRAME}
    assert len(frames) == pytest.approx(RATE / FRAME, abs=3)  # the filter holds some back
    sound = np.concatenate(frames)
    assert np.argmax(np.abs(np.fft.rfft(sound))) * RATE / len(sound) == pytest.approx(440, abs=2)
