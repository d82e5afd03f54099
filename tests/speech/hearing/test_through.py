"""What would drown a command is told once, in ten seconds, and not because somebody speaks for a moment."""

from datetime import timedelta

import numpy as np
import pytest

from companion.speech.devices.microphone import cut_in_frames
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.through import SELDOM, Through
from companion.speech.language.phrases import phrases_for
from companion.speech.recognisers.scripted import ScriptedRecogniser
from companion.speech.sound.samples import RATE

CROWD = (
    "the council met again on tuesday to talk about the bridge and nobody would say what it is going to cost",
    "because the money was meant for the school and the trains are as late as they were in the last winter",
)


def seconds(number: float) -> timedelta:
    return timedelta(seconds=number)


def test_talk_as_loud_as_the_mechanic_is_told_once_in_ten_minutes() -> None:
    through = Through()
    assert through.look(seconds(20), seconds(8), -30, -26, usual=-24) is None
    assert through.look(seconds(21), seconds(9), -30, -26, usual=-24) == "talk"
    assert through.look(seconds(60), seconds(30), -30, -26, usual=-24) is None
    assert through.look(seconds(21) + SELDOM, seconds(9), -30, -26, usual=-24) == "talk"


def test_talk_that_lies_well_below_the_mechanic_is_not_told() -> None:
    assert Through().look(seconds(30), seconds(20), -36, -34, usual=-24) is None


@pytest.mark.parametrize(("seldom", "told"), [(-30.0, "talk"), (-50.0, None)])
def test_before_the_first_command_only_loud_talk_is_told(seldom, told) -> None:
    assert Through().look(seconds(10), seconds(9.5), -40, seldom, usual=None) == told


def test_steady_noise_as_loud_as_the_mechanic_is_told_though_nobody_talks() -> None:
    assert Through().look(seconds(30), seconds(0), -24, -22, usual=-24) == "noise"
    assert Through().look(seconds(30), seconds(0), -34, -22, usual=-24) is None


def test_the_ear_tells_it_within_ten_seconds_of_a_crowd_that_talks_on(talker) -> None:
    paces = zip(CROWD * 2, (140, 150, 160, 170), strict=True)
    voices = [np.resize(talker.say(text, pace), 12 * RATE) for text, pace in paces]
    crowd = sum(np.roll(voice, 3_000 * n) for n, voice in enumerate(voices))
    ear = Ear(ScriptedRecogniser())
    ear.expect(phrases_for([]))
    for frame in cut_in_frames(np.float32(0.5) * crowd):
        ear.feed(frame)
        if by := ear.hindrance():
            break
    assert by == "talk"
    assert ear.now < seconds(10.2)
