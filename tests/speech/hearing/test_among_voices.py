"""While others talk: the near voice is obeyed, theirs is not, and a sentence stays a sentence."""

import numpy as np
import pytest

from companion.job.facts.commands import Command
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_samples
from companion.speech.language.phrases import phrases_for
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.sound.samples import RATE, Samples

COMMANDS = phrases_for((Command.DONE, Command.REPEAT, Command.GO_BACK, Command.SKIP, Command.WHAT_SIZE,
                        Command.STOP_TALKING, Command.STOP_WORK))  # fmt: skip
NEWS = (
    "the council met again on tuesday to talk about the bridge and nobody would say what it is going to cost "
    "in the end because the money was meant for the school and the trains are late as they were last winter"
)


@pytest.fixture(scope="module")
def radio(talker) -> Samples:
    """A voice that talks on without a pause, 15 dB below whoever wears the microphone."""
    sound = talker.say(NEWS)
    step = RATE // 50
    powers = np.mean(sound[: len(sound) // step * step].reshape(-1, step) ** 2, axis=1)
    return sound[np.repeat(powers, step).nonzero()[0]]


def over(radio: Samples, said: Samples, at: float, below: float) -> Samples:
    """What is said at a time (seconds), and a radio so many decibels below it."""
    loud = np.sqrt(np.mean(said[np.abs(said) > 0.1 * np.abs(said).max()] ** 2))
    softer = loud * 10 ** (-below / 20) / np.sqrt(np.mean(radio**2))
    whole = np.float32(softer) * radio[: 7 * RATE]
    whole[round(at * RATE) :][: len(said)] += said
    return whole


def heard(embedded: EmbeddedRecogniser, sound: Samples) -> list[str]:
    ear = Ear(embedded)
    ear.expect(COMMANDS)
    found = [h.judgement for h in hear_samples(sound, ear) if h.judgement.verdict is not Verdict.REJECTED]
    return [j.phrase.text for j in found if j.phrase]


@pytest.mark.parametrize("said", ["go back", "what size"])
def test_a_command_is_heard_though_others_talk_on(embedded, talker, radio, said) -> None:
    assert heard(embedded, over(radio, talker.say(said), 3.2, below=15)) == [said]


def test_what_others_say_is_no_command(embedded, talker, radio) -> None:
    theirs = over(radio, talker.say("go back"), 3.2, below=0)
    assert heard(embedded, theirs) == []


def test_a_near_sentence_with_a_command_in_it_stays_a_sentence(embedded, talker, radio) -> None:
    sentence = talker.say("I told him to go back and repeat the whole thing")
    assert heard(embedded, over(radio, sentence, 2.2, below=12)) == []
