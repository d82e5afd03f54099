"""From evidence to a verdict."""

from dataclasses import replace

import pytest

from companion.speech.language.phrases import Phrase
from companion.speech.recognisers import settings
from companion.speech.recognisers.decision import Evidence, among_voices, confidence, judge, longest
from companion.speech.recognisers.recogniser import Judgement, Verdict

SAID = Evidence(1.1, Phrase("go back", "go back"), Phrase("done", "done"), -0.5, -0.2, 5.0, 12.0)


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


def test_what_lasts_too_long_is_no_command() -> None:
    assert confidence(replace(SAID, seconds=longest("go back") + 0.01)) == 0.0


def test_what_seems_not_to_have_stood_alone_is_doubted_within_bounds() -> None:
    assert confidence(replace(SAID, alone=-2.0)) < confidence(SAID)
    assert confidence(replace(SAID, alone=-50.0)) == confidence(replace(SAID, alone=-2.0))


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


def test_a_count_that_the_job_wants_needs_less_and_a_state_no_less() -> None:
    doubtful = replace(SAID, plain=-7.0, hardened=-7.0, margin=6.0, alone=0.0)
    assert judge(doubtful).verdict is not Verdict.ACCEPTED
    assert judge(replace(doubtful, best=Phrase("five", "count"))).verdict is Verdict.ACCEPTED
    for strict in ("state", "yes"):
        assert judge(replace(doubtful, best=Phrase("five", strict))).verdict is not Verdict.ACCEPTED


def test_out_of_others_talk_only_what_stands_out_is_obeyed_and_a_count_no_sooner() -> None:
    sure = judge(SAID)
    assert among_voices(sure, rise=8.0, over=8.0).verdict is Verdict.ACCEPTED
    assert among_voices(judge(replace(SAID, margin=0.0)), rise=1.0, over=1.0).verdict is Verdict.REJECTED
    score = 0.6
    said = Judgement(Verdict.ACCEPTED, Phrase("go back", "go back"), score)
    count = Judgement(Verdict.ACCEPTED, Phrase("five", "count"), score)
    assert among_voices(said, rise=8.0, over=8.0).verdict is Verdict.ACCEPTED
    assert among_voices(count, rise=8.0, over=8.0).verdict is Verdict.REJECTED
