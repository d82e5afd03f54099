"""Finding in what is heard the sound that was played, however late it comes, and taking it out."""

import numpy as np
import pytest

from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.played import HEAD, KEPT, SLACK, Alignment, Played, best_delay
from companion.speech.sound.samples import FRAME, Samples
from tests.speech.fakes import Room, late


def test_what_was_played_is_kept_for_a_while_and_is_silence_beyond() -> None:
    played = Played()
    played.add(np.arange(KEPT - 10, dtype=np.float32))
    played.add(np.full(20, 7.0, np.float32))
    assert played.total == KEPT + 10
    assert list(played.between(8, 12)) == [0, 0, 10, 11]
    assert list(played.between(KEPT + 8, KEPT + 12)) == [7, 7, 0, 0]
    assert list(played.between(-3, -1)) == [0, 0]


def test_the_mouth_tells_what_it_gives_away() -> None:
    played = Played()
    mouth = Mouth(SilentVoice(), tap=played.add)
    mouth.say("1", "Remove the six bolts.")
    pulled = np.concatenate([mouth.pull(FRAME) for _ in range(20)])
    assert np.array_equal(played.between(0, played.total), pulled)


@pytest.mark.parametrize("delay", [0, 77, 2400, 8000])
def test_a_delay_is_found_to_the_sample(reading: Samples, delay: int) -> None:
    assert best_delay(late(reading, delay), reading) == delay


def test_other_sound_has_no_delay(reading: Samples, talker) -> None:
    other = np.resize(talker.say("what torque for the left bracket"), len(reading))
    assert best_delay(other, reading) is None
    assert best_delay(np.zeros_like(reading), reading) is None


@pytest.mark.parametrize("delay", [80, 1500, 6000])
def test_frames_are_aligned_once_the_delay_is_plain(reading: Samples, delay: int) -> None:
    played = Played()
    sound = np.tile(reading, 2)
    alignment, moves = Alignment(played), 0
    for frame in Room(played, sound, delay).frames():
        moves += alignment.played_with(frame)[1]
    assert 0 <= delay - alignment.delay <= HEAD + SLACK
    assert moves == (delay > HEAD + SLACK)
