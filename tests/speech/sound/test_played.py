"""Finding in what is heard the sound that was played, however late it comes, and taking it out."""

from collections.abc import Iterator

import numpy as np
import pytest

from companion.speech.devices.echo_free import EchoFree
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.silent import SilentVoice
from companion.speech.sound.echo import NoCanceller
from companion.speech.sound.kalman import KalmanCanceller
from companion.speech.sound.played import HEAD, KEPT, SLACK, Alignment, Played, best_delay
from companion.speech.sound.samples import FRAME, RATE, Samples


def late(sound: Samples, delay: int) -> Samples:
    return np.concatenate([np.zeros(delay, np.float32), sound])[: len(sound)]


@pytest.fixture
def reading(talker) -> Samples:
    sound = np.concatenate([talker.say("Remove the six bolts of the sump, and keep them in order.")] * 3)
    return sound[: len(sound) // FRAME * FRAME]


class Room:
    """A microphone that hears what is played, some samples later, and what else is said."""

    name = "room"
    overflows = 0

    def __init__(self, played: Played, sound: Samples, delay: int, also: Samples | None = None) -> None:
        self._played = played
        self._sound = sound
        self._heard = 0.7 * late(sound, delay) + (0 if also is None else also)
        self._heard += np.float32(3e-4) * np.random.default_rng(2).standard_normal(len(sound)).astype("f4")

    def frames(self) -> Iterator[Samples]:
        pairs = zip(cut_in_frames(self._sound), cut_in_frames(self._heard), strict=True)
        for spoken, heard in pairs:
            self._played.add(spoken)
            yield heard

    def close(self) -> None:
        """Nothing to close."""


def decibels(left: Samples, of: Samples) -> float:
    return float(10 * np.log10(np.mean(left**2) / np.mean(of**2)))


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


def test_the_echo_is_taken_out_and_the_mechanic_left_in(reading: Samples, talker) -> None:
    order = talker.say("stop talking")
    also = np.zeros(2 * len(reading), np.float32)
    at = 3 * len(reading) // 2
    also[at : at + len(order)] = order
    played = Played()
    room = Room(played, np.tile(reading, 2), 1500, also)
    heard = np.concatenate(list(EchoFree(Room(Played(), np.tile(reading, 2), 1500, also), Played(),
                                         NoCanceller()).frames()))  # fmt: skip
    cleaned = np.concatenate(list(EchoFree(room, played, KalmanCanceller()).frames()))
    before, during = slice(at - RATE, at), slice(at, at + len(order))
    assert decibels(cleaned[before], heard[before]) < -15
    assert decibels(cleaned[during] - order, order) < -10


def test_while_nothing_is_played_frames_pass_as_they_are(talker) -> None:
    said = talker.stream(0.5, "stop talking", 0.5)
    silent = np.zeros(len(said), np.float32)
    heard = list(Room(Played(), silent, 0, said).frames())
    cleaned = list(EchoFree(Room(Played(), silent, 0, said), Played(), KalmanCanceller()).frames())
    assert np.array_equal(np.concatenate(heard)[16 * FRAME :], np.concatenate(cleaned)[16 * FRAME :])


def test_lost_sound_makes_it_look_anew(reading: Samples) -> None:
    played = Played()
    room = Room(played, np.tile(reading, 2), 6000)
    canceller = Counting()
    told: list[str] = []
    echo_free = EchoFree(room, played, canceller, told.append)
    for number, _ in enumerate(echo_free.frames()):
        if number == 200:
            room.overflows = 3
        if number == 203:
            room.overflows = 4
    assert echo_free.overflows == 4
    assert len(told) == 1, "told again when it has doubled"
    assert "lost, 3 times" in told[0]
    assert canceller.moves == 4, "aligned, lost twice, aligned again"


class Counting(NoCanceller):
    moves = 0

    def moved(self) -> None:
        self.moves += 1
