"""The second opinion: that a phrase, and nothing else, was said."""

import numpy as np
import pytest

from companion.speech.network.verifier import verify
from companion.speech.network.whisper import Whisper
from companion.speech.recognisers.embedded import frames_of
from companion.speech.recognisers.scorer import window
from companion.speech.sound.samples import Clip
from tests.helpers.sounds import Talker


@pytest.fixture(scope="module")
def ask():
    """The log-odds of phrases, for what an ordinary synthetic voice says."""
    plain, hardened, talker = Whisper(adapt=False), Whisper(), Talker()

    def asked(said: str, *phrases: str) -> list[float]:
        clip: Clip = talker.alone(said)
        length = window(clip.samples)
        heard = [form.encode(clip.samples, length) for form in (plain, hardened)]
        return verify(*heard, phrases, frames_of(clip)).tolist()

    return asked


@pytest.mark.parametrize("phrase", ["done", "go back", "what torque", "battery disconnected"])
def test_what_was_said_is_likely_and_other_phrases_are_not(ask, phrase: str) -> None:
    said, *others = ask(phrase, phrase, *(p for p in ("help", "undo", "battery connected") if p != phrase))
    assert said > 0 > max(others)


@pytest.mark.parametrize(
    ("sentence", "phrase"),
    [
        ("I am done with this one now", "done"),
        ("we can go back to the shop", "go back"),
        ("he asked me what torque to use", "what torque"),
    ],
)
def test_a_phrase_inside_a_sentence_was_not_said_alone(ask, sentence: str, phrase: str) -> None:
    assert ask(sentence, phrase)[0] < 0


def test_part_of_a_phrase_is_not_the_phrase(ask) -> None:
    whole, part = ask("stop talking", "stop talking", "stop")
    assert whole > 0 > part


def test_the_company_that_a_phrase_is_asked_in_changes_nothing(ask) -> None:
    alone = ask("undo", "undo")[0]
    assert ask("undo", "battery disconnected", "undo", "a")[1] == pytest.approx(alone, abs=1e-3)


def test_padding_after_the_clip_changes_nothing() -> None:
    rng = np.random.default_rng(1)
    plain, hardened = (rng.standard_normal((120, 384)).astype(np.float32) for _ in range(2))
    longer = [
        np.concatenate([x, rng.standard_normal((40, 384)).astype(np.float32)]) for x in (plain, hardened)
    ]
    assert verify(plain, hardened, ["done"], 60) == pytest.approx(verify(*longer, ["done"], 60), abs=1e-4)
