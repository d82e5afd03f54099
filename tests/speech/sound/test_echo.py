"""The companion's own voice, taken out of the microphone's sound."""

import numpy as np
import pytest

from companion.speech.devices.microphone import cut_in_frames
from companion.speech.sound.echo import Canceller, EchoCanceller, NoCanceller, best_canceller
from companion.speech.sound.kalman import KalmanCanceller
from companion.speech.sound.samples import FRAME, RATE


def room(sound: np.ndarray) -> np.ndarray:
    """A simulated room: a direct path of 5 ms and a tail that dies away in a tenth of a second."""
    rng = np.random.default_rng(4)
    length = RATE // 5
    answer = 0.05 * rng.standard_normal(length) * np.exp(-np.arange(length) / (0.03 * RATE))
    answer[80] += 0.7
    return np.convolve(sound, answer)[: len(sound)].astype(np.float32)


@pytest.fixture(params=["pyaec", "our own"])
def canceller(request: pytest.FixtureRequest) -> Canceller:
    if request.param == "our own":
        return KalmanCanceller()
    pytest.importorskip("pyaec")
    return EchoCanceller()


def test_echo_falls_by_ten_decibels_once_the_room_is_known(canceller: Canceller, talker) -> None:
    played = np.concatenate([talker.say("Remove the six bolts of the sump, and keep them in order.")] * 3)
    echo = room(played)
    pairs = zip(cut_in_frames(echo), cut_in_frames(played), strict=True)
    cleaned = np.concatenate([canceller.clean(heard, spoken) for heard, spoken in pairs])
    last = slice(2 * len(echo) // 3, len(echo))
    assert 10 * np.log10(np.mean(echo[last] ** 2) / np.mean(cleaned[last] ** 2)) > 10


def test_the_mechanic_is_left_in(canceller: Canceller, talker) -> None:
    said = talker.stream(0.5, "stop talking", 0.5)
    silent = np.zeros(FRAME, np.float32)
    cleaned = np.concatenate([canceller.clean(frame, silent) for frame in cut_in_frames(said)])
    assert np.mean(cleaned**2) > 0.3 * np.mean(said**2)


def test_without_a_canceller_nothing_is_changed() -> None:
    frame = np.ones(FRAME, np.float32)
    assert np.array_equal(NoCanceller().clean(frame, frame), frame)
    assert isinstance(best_canceller(), EchoCanceller | KalmanCanceller)


def test_frames_of_another_length_are_refused(canceller: Canceller) -> None:
    with pytest.raises(ValueError, match="512"):
        canceller.clean(np.zeros(5, np.float32), np.zeros(5, np.float32))
