"""What was said is typed before it reaches the job, and the log still has it as texts."""

from datetime import timedelta

import pytest
from hypothesis import given as any_of
from hypothesis import strategies as st

from companion.job.facts.commands import Command
from companion.job.facts.said import given
from companion.job.facts.said.log_map import as_map, given_in
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
