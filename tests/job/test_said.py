"""What was said is typed before it reaches the job, and the log still has it as texts."""

from datetime import timedelta
from typing import get_args

import pytest
from hypothesis import given as any_of
from hypothesis import strategies as st

from companion.job.facts.commands import Command
from companion.job.facts.said import given
from companion.job.facts.said import questions as q
from companion.job.facts.said.log_map import about, as_map, given_in, question_in
from companion.speech.language.phrases import parse_typed, phrases_for
from tests.helpers.said import heard

SAID = [
    (Command.STATE, given.SpokenState("oil drained"), {"state": "oil drained"}),
    (Command.READING, given.Measured(12.6, "V"), {"value": "12.6", "unit": "V"}),
    (Command.COUNT, given.Count(3), {"number": "3"}),
    (Command.STEP, given.StepNumber(12), {"number": "12"}),
    (Command.START_TIMER, given.Length(timedelta(seconds=90)), {"minutes": "1.5"}),
    (Command.DURATION, given.Length(timedelta(days=1)), {"minutes": "1440"}),
    (Command.NOTE, given.Words("the clip is broken"), {"text": "the clip is broken"}),
    (
        Command.AWAIT_PART,
        given.PartAndWait("the pump in a day", "the pump", timedelta(days=1)),
        {"text": "the pump in a day", "part": "the pump", "minutes": "1440"},
    ),
    (Command.SKIP, given.Reason("no time"), {"reason": "no time"}),
    (Command.LEAVE_OUT, given.Thing("strainer", "lost"), {"item": "strainer", "reason": "lost"}),
    (Command.READING, given.Unreadable("nan", "value", "V"), {"value": "nan", "unit": "V"}),
    (Command.COUNT, given.Unreadable("²", "number"), {"number": "²"}),
    (Command.DURATION, given.Unreadable("1e999", "minutes"), {"minutes": "1e999"}),
]


@pytest.mark.parametrize(("command", "said", "logged"), SAID)
def test_each_kind_goes_into_the_log_and_comes_back(command, said, logged):
    assert as_map(said) == logged
    assert given_in(command, logged) == said


@any_of(st.floats(allow_nan=False, allow_infinity=False))
def test_no_digit_of_a_reading_is_lost(value):
    said = given.Measured(value, "mm")
    assert given_in(Command.READING, as_map(said)) == said


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_what_measures_nothing_is_no_value(value):
    with pytest.raises(ValueError, match="measures nothing"):
        given.Measured(value, "V")


@pytest.mark.parametrize("typed", ["9" * 400, f"{'9' * 400} volts"])
def test_an_absurd_number_is_typed_and_refused(mechanic, typed):
    mechanic.opens()
    mechanic.says(Command.YES)
    mechanic.state_is("battery disconnected")
    mechanic.waits(minutes=3)
    phrase = parse_typed(typed, (), reading="V")
    assert phrase is not None
    assert isinstance(phrase.given, given.Unreadable)
    said = mechanic.post(heard(Command.READING, phrase.arguments))
    assert said[0].endswith("is not a number.")
    assert mechanic.state.reading is None


def test_a_timer_longer_than_any_calendar_is_refused(mechanic):
    mechanic.opens()
    phrase = parse_typed(f"timer for {'9' * 30} hours", phrases_for([Command.START_TIMER]))
    assert phrase is not None
    assert isinstance(phrase.given, given.Unreadable)
    assert "is not a number of minutes." in mechanic.post(heard(Command.START_TIMER, phrase.arguments))[0]


ASKED = [
    (q.PartOnBench("gasket"), {"part": "gasket"}),
    (q.AdviceUnderstood(), {}),
    (q.StepWanted("tidy"), {"step": "tidy"}),
    (
        q.DidYouSay(Command.COUNT, given.Count(2)),
        {"command": "count", "argument number": "2"},
    ),
    (q.ReadingRight(0.1, "V", step="battery-dead"), {"value": "0.1", "unit": "V", "step": "battery-dead"}),
    (q.ReadingRight(0.1, "V", energy="battery"), {"value": "0.1", "unit": "V", "energy": "battery"}),
    (q.Proof("battery"), {"energy": "battery"}),
    (q.NoteWords(), {}),
    (q.NoteWords(3), {"again": "3"}),
    (q.SkipReason("tidy"), {"step": "tidy"}),
    (q.TimerLength(), {}),
    (q.PartName(), {}),
    (q.PartKnown("horn"), {"part": "horn"}),
    (q.PartKnown("horn", timedelta(hours=1)), {"part": "horn", "minutes": "60"}),
    (q.PartWhen("horn"), {"part": "horn"}),
    (q.PartRight("horn", timedelta(days=3)), {"part": "horn", "minutes": "4320"}),
    (q.PartHere("part:horn"), {"deadline": "part:horn"}),
    (q.StopWork(), {}),
    (
        q.StopWork(q.SkipReason("tidy"), "Why?"),
        {"before": "skip reason", "asked": "Why?", "about step": "tidy"},
    ),
    (q.LeaveOut("sump-on", "it is lost"), {"step": "sump-on", "reason": "it is lost"}),
    (q.LeaveOutReason("sump-on"), {"step": "sump-on"}),
    (q.Close(), {}),
]


@pytest.mark.parametrize(("question", "logged"), ASKED)
def test_each_question_goes_into_the_log_and_comes_back(question, logged):
    assert about(question) == logged
    assert question_in(question.name, logged) == question


def test_no_question_is_left_untried():
    assert {type(question) for question, _ in ASKED} == set(get_args(q.Question))


@pytest.mark.parametrize(
    ("name", "logged", "why"),
    [
        ("riddle", {}, "there is no question"),
        ("proof", {}, "does not say which energy"),
        ("reading right", {"value": "nan", "unit": "V"}, "is no Measured"),
        ("part right", {"part": "horn", "minutes": "soon"}, "is no Length"),
        ("note words", {"again": "x"}, "invalid literal"),
        ("did you say", {"command": "abracadabra"}, "not a valid Command"),
        ("stop work", {"before": "proof", "asked": ""}, "does not say which energy"),
    ],
)
def test_a_question_that_does_not_fit_is_refused(name, logged, why):
    with pytest.raises(ValueError, match=why):
        question_in(name, logged)
