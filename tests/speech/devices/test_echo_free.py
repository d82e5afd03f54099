"""A microphone without the companion's own voice, in a simulated room."""

import numpy as np

from companion.speech.devices.echo_free import EchoFree
from companion.speech.sound.echo import NoCanceller
from companion.speech.sound.kalman import KalmanCanceller
from companion.speech.sound.played import Played
from companion.speech.sound.samples import FRAME, RATE, Samples
from tests.speech.fakes import Room


def decibels(left: Samples, of: Samples) -> float:
    return float(10 * np.log10(np.mean(left**2) / np.mean(of**2)))


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
