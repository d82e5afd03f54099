"""Two channels made into one, and the one that is dead left out."""

from pathlib import Path

import numpy as np
import pytest

from companion.speech.sound.channels import Channels
from companion.speech.sound.recordings import read_clip
from companion.speech.sound.samples import FRAME, RATE, Samples
from tests.helpers.sounds import Talker, hiss, write_wav


@pytest.fixture
def said(talker: Talker) -> Samples:
    return np.tile(talker.stream(0.3, "what torque", 0.4), 3)


def through(left: Samples, right: Samples) -> tuple[Samples, str | None]:
    channels = Channels()
    both = np.stack([left, right], axis=1)
    mixed = [channels.mixed(both[at : at + FRAME]) for at in range(0, len(both), FRAME)]
    return np.concatenate(mixed), channels.dead


def test_two_that_live_are_taken_together(said: Samples) -> None:
    mixed, dead = through(said, 0.3 * said)
    assert dead is None
    assert np.allclose(mixed, 0.65 * said)


@pytest.mark.parametrize("dead", ["left", "right"])
def test_a_dead_one_is_left_out_so_that_the_other_keeps_its_level(said: Samples, dead: str) -> None:
    nothing = np.float32(1e-5) * hiss(len(said) / RATE)[: len(said)]
    pair = (nothing, said) if dead == "left" else (said, nothing)
    mixed, found = through(*pair)
    assert found == dead
    assert np.allclose(mixed[-RATE:], said[-RATE:])


def test_silence_in_both_is_no_dead_one() -> None:
    nothing = np.zeros(RATE, np.float32)
    assert through(nothing, nothing)[1] is None


def test_a_recording_with_a_dead_channel_keeps_its_level(tmp_path: Path, said: Samples) -> None:
    write_wav(tmp_path / "a.wav", np.stack([np.zeros_like(said), said], axis=1))
    clip = read_clip(tmp_path / "a.wav")
    assert clip.dead_channel == "left"
    assert np.allclose(clip.samples, said, atol=1e-4)
