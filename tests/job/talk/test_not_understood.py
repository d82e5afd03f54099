"""What is not understood is heard by whoever said it, and chatter is not answered all day long."""

from datetime import timedelta

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said import questions as q
from companion.job.facts.sayings import Tone

NEAR = msg.NotUnderstood(near=True)
FAR = msg.NotUnderstood()
SHORT = msg.NotUnderstood(short=True)
TYPED = msg.NotUnderstood("grmbl", "keys")


@pytest.fixture
def at_work(mechanic):
    mechanic.isolates_the_battery()
    mechanic.state_is("oil drained")
    mechanic.passes(minutes=5)
    return mechanic


def tones(mechanic, message):
    """The tones that answer it."""
    before = len(mechanic.sayings)
    mechanic.post(message)
    return [s.tone for s in mechanic.sayings[before:] if not s.text]


@pytest.mark.parametrize("message", [NEAR, TYPED])
def test_a_soft_tone_tells_that_it_was_not_understood(at_work, message):
    assert tones(at_work, message) == [Tone.NOT_UNDERSTOOD]
    assert at_work.happened(ev.Misheard)[-1].told


def test_the_second_in_a_row_is_helped_by_one_short_hint_and_no_other(at_work):
    assert at_work.post(NEAR) == []
    assert at_work.post(NEAR) == ["Say help to hear what I listen for."]
    assert at_work.post(NEAR) == []
    at_work.says(Command.WHAT_SIZE)
    at_work.passes(minutes=2)
    assert at_work.post(NEAR) == []
    assert at_work.post(NEAR) == ["Say help to hear what I listen for."]


def test_when_something_is_asked_the_question_itself_is_the_hint(at_work):
    at_work.says(Command.SKIP)
    at_work.post(TYPED)
    assert at_work.post(TYPED) == [at_work.state.asked]


def test_people_who_talk_to_each_other_are_not_answered(at_work):
    for _ in range(20):
        assert tones(at_work, FAR) == []
        assert tones(at_work, SHORT) == []
        assert at_work.post(FAR) == []
    assert not any(event.told for event in at_work.happened(ev.Misheard))


def test_no_more_than_three_tones_a_minute_however_near_they_sound(at_work):
    heard = []
    for _ in range(120):
        at_work.passes(seconds=1)
        heard += tones(at_work, NEAR)
    assert len(heard) == 6


def test_what_is_typed_is_answered_however_often(at_work):
    assert all(tones(at_work, TYPED) for _ in range(10))


def test_right_after_a_question_any_short_word_is_taken_for_an_answer(at_work):
    at_work.says(Command.START_TIMER)
    assert tones(at_work, SHORT) == [Tone.NOT_UNDERSTOOD]
    assert tones(at_work, FAR) == [], "a whole sentence is for somebody else"
    at_work.passes(seconds=30)
    assert tones(at_work, SHORT) == []


def test_a_hold_is_quiet(at_work):
    at_work.says(Command.HOLD)
    assert tones(at_work, NEAR) == []
    assert tones(at_work, TYPED) == [Tone.NOT_UNDERSTOOD]
    at_work.says(Command.AWAIT_PART, text="the sump gasket")
    assert isinstance(at_work.state.question, q.PartWhen)
    assert tones(at_work, NEAR) == [Tone.NOT_UNDERSTOOD], "what was asked in a hold wants an answer"


def test_a_start_of_the_machine_is_no_reason_to_be_silent(at_work):
    for _ in range(3):
        at_work.post(NEAR)
    at_work.now = type(at_work.now)(at_work.now.wall + timedelta(hours=1), timedelta(minutes=1))
    at_work.opens(boot="boot-2")
    assert tones(at_work, NEAR) == [Tone.NOT_UNDERSTOOD]


def test_an_old_log_without_the_word_told_folds(at_work):
    line = {"schema": 1, "seq": 1, "at": "2031-03-04T08:00:00Z", "mono": 1.0,
            "event": "misheard", "text": "mumble", "guess": None, "score": 0.4}  # fmt: skip
    assert not ev.Record.from_line(line).event.told


def test_did_you_say_is_asked_once_then_a_tone_says_that_it_was_unclear_again(mechanic):
    mechanic.isolates_the_battery()
    unsure = msg.Unsure(Command.GO_BACK, None, "go back", 0.5)
    asked = "Did you say go back? Yes or no?"
    assert mechanic.post(unsure) == [asked]
    assert mechanic.post(unsure) == []
    assert mechanic.sayings[-1].tone is Tone.NOT_UNDERSTOOD
    assert mechanic.post(unsure) == [asked], "the second time the question is asked again"
    mechanic.says(Command.NO)
    assert mechanic.post(unsure) == ["Did you say go back? Yes or no?"]
    assert mechanic.says(Command.YES)[0].startswith("Step 2: ")
