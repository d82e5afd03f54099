"""From evidence to a verdict."""

from dataclasses import replace

import pytest

from companion.speech import settings
from companion.speech.decision import Evidence, confidence, is_sentence, judge, longest
from companion.speech.phrases import Phrase
from companion.speech.recogniser import Verdict

SAID = Evidence(1.1, Phrase("go back", "go back"), Phrase("done", "done"), -0.5, -0.2, False, 12.0)


def test_what_both_forms_of_the_model_hear_is_obeyed() -> None:
    assert judge(SAID).verdict is Verdict.ACCEPTED
    assert judge(SAID).runner_up == Phrase("done", "done")


@pytest.mark.parametrize("alone", ["plain", "hardened"])
def test_one_form_that_hears_it_clearly_is_enough(alone: str) -> None:
    assert judge(replace(SAID, **{alone: -15.0})).verdict is Verdict.ACCEPTED


def test_what_neither_hears_is_rejected() -> None:
    assert judge(replace(SAID, plain=-15.0, hardened=-15.0, margin=1.0)).verdict is Verdict.REJECTED


def test_doubt_grows_with_every_thing_that_speaks_against_it() -> None:
    sure = confidence(SAID)
    assert confidence(replace(SAID, margin=2.0)) < sure
    assert confidence(replace(SAID, plain=-6.0, hardened=-6.0)) < sure
    assert 0.0 <= confidence(replace(SAID, plain=-1e6, hardened=-1e6, margin=0.0)) < 0.01


def test_what_lasts_too_long_or_stands_in_a_sentence_is_no_command() -> None:
    assert confidence(replace(SAID, seconds=longest("go back") + 0.01)) == 0.0
    assert confidence(replace(SAID, in_a_sentence=True)) == 0.0


def test_what_cannot_be_undone_must_be_surer() -> None:
    scores = [
        (m / 10, confidence(replace(SAID, plain=-6.0, hardened=-6.0, margin=m / 10))) for m in range(120)
    ]
    between = [m for m, score in scores if settings.ACCEPT <= score < settings.ACCEPT_FINAL]
    assert between
    doubtful = replace(SAID, plain=-6.0, hardened=-6.0, margin=between[0])
    assert judge(doubtful).verdict is Verdict.ACCEPTED
    final = replace(doubtful, best=Phrase("go back", "state"))
    assert judge(final).verdict is Verdict.UNSURE


@pytest.mark.parametrize(
    ("written", "score", "sentence"),
    [
        ("She is waiting for the bus.", -1.1, True),
        ("She is waiting for the bus.", -6.0, False),
        ("What is waiting?", -0.2, False),
        ("What is waiting? What is waiting? What is", -1.0, False),
        ("", -0.1, False),
    ],
)
def test_a_sentence_is_told_from_a_phrase_and_from_a_loop(written: str, score: float, sentence: bool) -> None:
    assert is_sentence(written, score, "what is waiting") is sentence
