"""While something waits, what can be done meanwhile is begun, and the rest is offered by its number."""

from datetime import timedelta
from pathlib import Path

import pytest

from companion.job.facts.commands import Command
from companion.job.facts.said.given import StepNumber
from companion.job.rules.expected import expected
from companion.procedure.read import read_procedure
from companion.rehearsal.obliging import next_answer
from companion.speech.language.phrases import language, parse_typed

PROCEDURES = Path(__file__).parents[2] / "procedures"


@pytest.fixture
def sump(mechanic_for):
    """The battery is off, and its isolation wait runs."""
    mechanic = mechanic_for(read_procedure(PROCEDURES / "sump-reseal.yaml"))
    mechanic.opens()
    for _ in range(4):
        mechanic.says(Command.YES)
    mechanic.said = mechanic.state_is("battery disconnected")
    return mechanic


def test_what_needs_neither_the_wait_nor_the_isolation_is_begun_and_the_next_is_offered(sump):
    assert sump.state.current == "raise-vehicle"
    assert sump.said[-1] == "Or step 5: leave the engine off for the oil to cool. Say step 5."
    assert expected(sump.state).steps == (5,)


def test_the_step_named_is_taken_up_and_the_other_comes_again(sump):
    assert sump.says(Command.STEP, number="5")[0].startswith("Step 5: Leave the engine off")
    assert sump.state.current == "let-oil-cool"
    said = sump.state_is("engine is off")
    assert any(text.startswith("Step 3: Raise the vehicle") for text in said)
    assert "let-oil-cool" in sump.state.settled


def test_nothing_else_can_be_done_is_true(mechanic_for):
    """Whenever it is said, no step has all its gates open."""
    from companion.job.rules.choice import open_steps

    for path in sorted(PROCEDURES.glob("*.yaml")):
        mechanic = mechanic_for(read_procedure(path))
        mechanic.opens()
        told = 0
        while not mechanic.state.closed:
            answer = next_answer(mechanic.state, mechanic.now.wall)
            if isinstance(answer, timedelta):
                said = mechanic.waits(seconds=answer.total_seconds())
            else:
                mechanic.passes(seconds=5)
                said = mechanic.post(answer)
            if any("Nothing else can be done" in text for text in said) and mechanic.state.current is None:
                told += 1
                assert open_steps(mechanic.state, mechanic.now.wall) == []
        assert told


@pytest.mark.parametrize(
    ("number", "told"),
    [
        ("2", "isolation wait"),
        ("8", "comes first"),
        ("1", "step 1 is done"),
        ("99", "there is no such step"),
        ("0", "there is no such step"),
        ("²", "there is no such step"),
    ],
)
def test_a_step_that_cannot_be_done_now_is_refused_with_why(sump, number, told):
    (said,) = sump.says(Command.STEP, number=number)
    assert told in said
    assert sump.state.current == "raise-vehicle"


def test_a_step_that_was_begun_in_earnest_is_finished_first(sump):
    sump.state_is("raised and supported")
    sump.state_is("stands hold firm")
    sump.state_is("engine is off")
    sump.says(Command.DONE)
    sump.waits(minutes=3)
    assert sump.state.current == "prove-battery"
    sump.reads("12.4")
    (said,) = sump.says(Command.STEP, number="7")
    assert "step 7 is done" in said or "finish it first" in said


def test_a_wait_in_hand_gives_way_to_what_can_be_done_meanwhile(mechanic_for):
    mechanic = mechanic_for(read_procedure(PROCEDURES / "sump-reseal.yaml"))
    mechanic.opens()
    while mechanic.state.current != "let-drain":
        said = mechanic.obliges()
    assert said[-1].startswith("Or step 10: unplug the oil level connector")
    mechanic.says(Command.STEP, number="10")
    said = mechanic.says(Command.DONE)
    assert mechanic.state.current == "pull-breather-hose", "the wait runs on and is not read again"
    mechanic.waits(minutes=10)
    mechanic.says(Command.GOT_IT)
    said = mechanic.says(Command.DONE)
    assert mechanic.state.current == "let-drain"


def test_a_step_is_named_by_voice_and_by_key(sump):
    phrases = language().that_answer(expected(sump.state))
    assert "step five" in [phrase.text for phrase in phrases]
    for typed in ("step five", "step 5", "Step 5"):
        phrase = parse_typed(typed, phrases)
        assert (phrase.command, phrase.given) == (Command.STEP, StepNumber(5))
    assert parse_typed("step 30", phrases).given == StepNumber(30), "the job answers why not"
    assert parse_typed("step aside", phrases) is None
