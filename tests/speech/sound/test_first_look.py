"""Each way in which a microphone can be bad, recognised in its first ten seconds by its sound alone."""

import numpy as np
import pytest
import soxr

from companion.rehearsal.noise import Workshop
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.sound.first_look import FirstLook, of_the_device
from companion.speech.sound.samples import FRAME, RATE, Samples
from tests.helpers.sounds import Talker, hiss

SECONDS = 10.5


@pytest.fixture(scope="module")
def speech(talker: Talker) -> Samples:
    """A mechanic who says something now and then, in a quiet room, at a good level."""
    said = talker.stream(
        0.8, "step done", 1.5, "what torque", 1.2, "the left clip is broken", 1.5, "repeat", 1.0
    )
    sound = np.resize(said, round(SECONDS * RATE))
    return np.asarray(sound + 10 ** (-62 / 20) * hiss(SECONDS), dtype=np.float32)


def told(sound: Samples) -> list[str]:
    look = FirstLook()
    return [line for frame in cut_in_frames(sound) for line in look.feed(frame)]


def test_a_good_microphone_is_no_news(speech: Samples) -> None:
    assert told(speech) == []


def test_a_muted_one(speech: Samples) -> None:
    (line,) = told(0 * speech)
    assert "muted" in line
    assert "--mic" in line


def test_a_mute_that_is_lifted_in_time_is_no_news(speech: Samples) -> None:
    late = speech.copy()
    late[: 4 * RATE] = 0
    assert told(late) == []


def test_one_that_is_too_quiet_is_told_by_how_much(speech: Samples) -> None:
    (line,) = told(speech * np.float32(10 ** (-32 / 20)))
    assert "too quiet" in line
    raised = int(line.split("about ")[1].split()[0])
    loudest = int(line.split("lies at ")[1].split()[0])
    assert raised + loudest == -24


def test_one_that_hears_nothing_at_all_but_its_own_noise() -> None:
    (line,) = told(np.float32(10 ** (-85 / 20)) * hiss(SECONDS))
    assert "too quiet" in line


def test_a_quiet_room_in_which_nobody_speaks_is_no_fault() -> None:
    assert told(np.float32(10 ** (-62 / 20)) * hiss(SECONDS)) == []


def test_the_companions_own_voice_says_nothing_of_the_level(speech: Samples) -> None:
    """The loudspeaker is loud in it, and the mechanic was not heard yet."""
    look = FirstLook()
    quiet = speech * np.float32(10 ** (-32 / 20))
    found: list[str] = []
    for number, (own, frame) in enumerate(zip(cut_in_frames(speech), cut_in_frames(quiet), strict=True)):
        speaking = number < len(speech) // FRAME // 2
        found += look.feed(own if speaking else frame, speaking)
    (line,) = found
    assert "too quiet" in line


def test_one_that_is_cut_off(speech: Samples) -> None:
    (line,) = told(np.clip(speech * np.float32(12), -1, 1))
    assert "cut off" in line
    assert "lower its recording level" in line


@pytest.mark.parametrize("mains", [50, 60])
def test_one_that_hums(speech: Samples, mains: int) -> None:
    time = np.arange(len(speech)) / RATE
    hum = sum(0.006 / k * np.sin(2 * np.pi * 1.0008 * mains * k * time + k) for k in (1, 2, 3, 4, 5, 7))
    (line,) = told((speech + hum).astype(np.float32))
    assert f"mains hum ({mains} Hz" in line
    assert "unplug" in line


def test_a_headset_at_8_khz(speech: Samples) -> None:
    narrow = soxr.resample(soxr.resample(speech, RATE, 8_000), 8_000, RATE).astype(np.float32)
    (line,) = told(narrow)
    assert "8 kHz" in line
    assert "wideband" in line


def test_what_the_device_tells_of_itself() -> None:
    assert of_the_device(48_000, None) == of_the_device(None, None) == []
    (line,) = of_the_device(RATE, None)
    assert "headset at 16 kHz: that is enough" in line
    (line,) = of_the_device(44_100, "left")
    assert "left channel of the microphone is dead" in line
    assert "listen to the right one" in line


@pytest.mark.parametrize("kind", ["pink", "impact"])
def test_workshop_noise_is_no_fault_of_the_microphone(speech: Samples, kind: str) -> None:
    noisy = speech + Workshop(kind, 10).take(len(speech))
    assert told(noisy) == []


def test_an_engine_is_no_mains_hum(speech: Samples) -> None:
    """At 750 a minute four cylinders fire 25 times a second: every second tone is one of 50 Hz."""
    time = np.arange(len(speech)) / RATE
    idle = sum(0.02 / k * np.sin(50 * np.pi * k * time + k) for k in range(1, 20))
    assert told((speech + idle).astype(np.float32)) == []
