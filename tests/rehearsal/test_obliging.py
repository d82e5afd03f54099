"""The obliging mechanic answers whatever is asked."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.job import messages as msg
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.rules.wants import within
from companion.procedure.model import Measure, Procedure
from companion.rehearsal.obliging import good_value, next_answer

NOW = Instant(datetime(2031, 3, 4, 8, tzinfo=UTC), timedelta(hours=1))
ONE_STEP = {"title": "t", "revision": "1", "applies_to": ["x"], "source_of_torques": "none",
            "steps": [{"id": "wipe", "act": "clean", "say": "Wipe.", "book": "1 min"}]}  # fmt: skip


def opened() -> State:
    particulars = ev.JobOpened(job="j", title="t", revision="1", procedure_sha256="0")
    return decide(State(Procedure.from_data(ONE_STEP)), msg.Opened("b", particulars), NOW).state


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        (msg.Heard(Command.NOTE), Command.WORDS),
        (msg.Heard(Command.SKIP), Command.WORDS),
        (msg.Heard(Command.START_TIMER), Command.DURATION),
        (msg.Heard(Command.HOLD), Command.CARRY_ON),
        (msg.Heard(Command.STOP_WORK), Command.CARRY_ON),
        (msg.Unsure(Command.UNDO, None, "undo", 0.5), Command.NO),
        (msg.Heard(Command.DONE), Command.CLOSE_JOB),
    ],
)
def test_every_question_has_its_answer(said, answer):
    heard = next_answer(decide(opened(), said, NOW).state)
    assert isinstance(heard, msg.Heard)
    assert heard.command is answer


def test_nothing_is_wanted_of_a_job_that_is_not_open():
    with pytest.raises(ValueError, match="not open"):
        next_answer(State(Procedure.from_data(ONE_STEP)))


@given(st.none() | st.floats(-1e6, 1e6), st.none() | st.floats(0, 1e6), st.sampled_from(["mm", "°C", "bar"]))
def test_a_good_value_is_within_the_limits(low, width, unit):
    high = None if width is None else (low or 0.0) + width
    measure = Measure(what="it", unit=unit, at_least=low, at_most=high)
    assert within(measure, good_value(measure))
