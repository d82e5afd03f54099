"""Each bad microphone, as a recording of ten seconds: one line with its remedy; the sound passes as it is."""

from pathlib import Path

import numpy as np
import pytest
import soxr

from companion.speech.devices.looked_at import LookedAt
from companion.speech.devices.microphone import FileMicrophone
from companion.speech.sound.samples import RATE, Samples
from tests.helpers.sounds import Talker, hiss, write_wav

SECONDS = 10.5


@pytest.fixture(scope="module")
def speech(talker: Talker) -> Samples:
    said = talker.stream(0.8, "step done", 1.5, "what torque", 1.2, "repeat", 1.0)
    said = np.resize(said, round(SECONDS * RATE))
    return np.asarray(said + 10 ** (-62 / 20) * hiss(SECONDS), dtype=np.float32)


def hum(length: int) -> Samples:
    time = np.arange(length) / RATE
    return sum(0.01 / k * np.sin(100 * np.pi * k * time) for k in (1, 2, 3, 5)).astype(np.float32)


def recorded(path: Path, speech: Samples, fault: str) -> Path:
    """The recording that such a microphone makes."""
    match fault:
        case "muted":
            return write_wav(path, 0 * speech)
        case "quiet":
            return write_wav(path, speech / 50)
        case "cut off":
            return write_wav(path, speech * 12)
        case "hum":
            return write_wav(path, speech + hum(len(speech)))
        case "8 kHz":
            return write_wav(path, soxr.resample(speech, RATE, 8_000), rate=8_000)
        case "dead channel":
            return write_wav(path, np.stack([speech, 0 * speech], axis=1))
        case _:
            return write_wav(path, speech)


@pytest.mark.parametrize(
    ("fault", "says", "remedy"),
    [
        ("muted", "no sound at all", "Unmute it"),
        ("quiet", "too quiet", "raise its recording level by about"),
        ("cut off", "too loud", "lower its recording level"),
        ("hum", "mains hum (50 Hz", "unplug the charger"),
        ("8 kHz", "like a telephone", "wideband profile"),
        ("dead channel", "right channel of the microphone is dead", "push its plug fully in"),
    ],
)
def test_what_is_wrong_is_told_in_one_line_with_its_remedy(tmp_path, speech, fault, says, remedy) -> None:
    told: list[str] = []
    microphone = FileMicrophone(recorded(tmp_path / "mic.wav", speech, fault))
    list(LookedAt(microphone, told.append, lambda: False).frames())
    (line,) = told
    assert says in line
    assert remedy in line


def test_a_good_one_is_no_news_and_its_sound_passes_as_it_is(tmp_path: Path, speech: Samples) -> None:
    told: list[str] = []
    path = recorded(tmp_path / "mic.wav", speech, "none")
    frames = list(LookedAt(FileMicrophone(path), told.append, lambda: False).frames())
    assert told == []
    assert np.array_equal(frames, list(FileMicrophone(path).frames()))
