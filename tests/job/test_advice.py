"""What is odd in a procedure is told at the bench, and nothing begins before it is understood."""

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said.questions import AdviceUnderstood

ODD = "step 'cover-off', fasteners 1, hex: 17 mm is odd on M8; check it"


@pytest.fixture
def opened(mechanic):
    """What is said when a job is opened with so many pieces of advice."""

    def open_with(count):
        particulars = ev.JobOpened(
            job="j", title="t", revision="1", procedure_sha256="0", advice=(ODD,) * count
        )
        return mechanic.post(msg.Opened("boot-1", particulars))

    return open_with


def test_it_is_told_and_nothing_else_is_asked_before_it_is_understood(mechanic, opened):
    said = opened(1)
    assert any(ODD in text for text in said)
    assert said[-1].endswith("Say understood.")
    assert isinstance(mechanic.state.question, AdviceUnderstood)
    mechanic.says(Command.DONE)
    mechanic.says(Command.CARRY_ON)
    assert not mechanic.happened(ev.StepBegun)
    assert any("say understood" in text for text in mechanic.says(Command.NO))
    assert isinstance(mechanic.state.question, AdviceUnderstood)


@pytest.mark.parametrize("command", [Command.GOT_IT, Command.YES])
def test_understood_lets_the_work_begin_and_it_is_not_told_again(mechanic, opened, command):
    opened(1)
    mechanic.says(command)
    assert not mechanic.state.advice
    assert not isinstance(mechanic.state.question, AdviceUnderstood)
    again = mechanic.post(msg.Opened("boot-2", None))
    assert not any(ODD in text for text in again)


def test_it_is_told_again_after_a_restart_before_it_was_understood(mechanic, opened):
    opened(1)
    assert any(ODD in text for text in mechanic.post(msg.Opened("boot-2", None)))


def test_no_more_than_three_are_told(mechanic, opened):
    said = opened(5)
    assert len([text for text in said if ODD in text]) == 3
    assert "2 more" in said[-1]
