"""From a sound that is nearly a command to the tone that tells so, through the ear, the job and the mouth."""

from datetime import timedelta

import numpy as np
import pytest

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.sayings import Tone
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.hearing.ear import Ear
from companion.speech.language.phrases import Phrase
from companion.speech.recognisers import settings
from companion.speech.recognisers.recogniser import Judgement, Verdict
from companion.speech.recognisers.scripted import ScriptedRecogniser
from companion.speech.saying.tones import tone
from companion.speech.sound.samples import RATE
from companion.work.sound.listening import Listener
from tests.helpers.sounds import Talker


class NearlyACommand(ScriptedRecogniser):
    """Takes nothing for a command, but all for something like one."""

    def __init__(self, score: float) -> None:
        super().__init__()
        self._score = score

    def judge(self, clip) -> Judgement:
        return Judgement(Verdict.REJECTED, Phrase("go back", "go back"), self._score)


@pytest.fixture(scope="module")
def talker():
    talker = Talker()
    yield talker
    talker.close()


def messages(bench, talker, score, text) -> list[msg.Message]:
    """What the listener makes of a text that a recogniser finds so much like a command."""
    listener = Listener(
        Ear(NearlyACommand(score)), bench.mouth, bench.job.logbook, bench.session.state.procedure
    )
    listener.expect(bench.session.expecting())
    sound = talker.stream(0.5, text, 1.0)
    return [message for frame in cut_in_frames(sound) for message in listener.listen(frame)]


def is_heard(bench, which: Tone) -> bool:
    """Does the loudspeaker begin with the tone?"""
    wanted = tone(which)
    return np.allclose(bench.mouth.pull(RATE)[: len(wanted)], wanted, atol=1e-4)


@pytest.fixture
def begun(bench):
    bench.begin("front-brakes")
    bench.clock.advance(timedelta(minutes=1))
    while not bench.mouth.idle:
        bench.mouth.pull(RATE)
    return bench


def test_something_like_a_command_is_answered_by_the_soft_tone_and_no_words(begun, talker, capsys):
    (message,) = messages(begun, talker, settings.NEAR, "go hack")
    begun.session.handle(message)
    assert is_heard(begun, Tone.NOT_UNDERSTOOD)
    assert begun.mouth.idle
    assert "> \n" not in capsys.readouterr().out


def test_talk_that_is_like_no_command_is_not_answered(begun, talker):
    (message,) = messages(begun, talker, settings.NEAR / 2, "he went to the other shop for it")
    begun.session.handle(message)
    assert not is_heard(begun, Tone.NOT_UNDERSTOOD)


def test_a_short_word_right_after_the_question_is_answered_by_it(begun, talker):
    begun.session.handle(msg.Heard(Command.REPEAT))
    while not begun.mouth.idle:
        begun.mouth.pull(RATE)
    (message,) = messages(begun, talker, 0.0, "dunno")
    assert begun.session.state.question is not None
    assert message.short
    begun.clock.advance(timedelta(seconds=3))
    begun.session.handle(message)
    assert is_heard(begun, Tone.NOT_UNDERSTOOD)


def test_it_is_softer_and_lower_than_the_tone_of_a_refusal(begun):
    quiet, error = tone(Tone.NOT_UNDERSTOOD), tone(Tone.ERROR)
    assert np.sqrt(np.mean(quiet**2)) < 0.7 * np.sqrt(np.mean(error**2))
    assert _pitch(quiet) < _pitch(error[: len(quiet)])
    assert len(quiet) < len(error)


def _pitch(samples) -> float:
    return float(np.argmax(np.abs(np.fft.rfft(samples))) / len(samples) * RATE)
