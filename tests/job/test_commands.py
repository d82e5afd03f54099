"""The rows of the commands agree with what the job does when they are said."""

from collections.abc import Iterator

import pytest

from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command, Kind, When
from companion.job.facts.said.questions import Proof
from companion.job.messages import Heard
from companion.job.rules.expected import expected, place
from tests.job.buried.working import COOLANT, SUMP
from tests.job.conftest import Mechanic

OUT_OF_PLACE = ("the job is held", "the job is closed", "this is an earlier step", "that answers nothing")
HELD_BACK = (Command.UNDO,)
"""Listened for while the job is held, so that whoever says it hears that the job is held."""


def refusals(mechanic: Mechanic, command: Command) -> list[str]:
    """Why the command is refused now; nothing of it happens."""
    events = decide(mechanic.state, Heard(command), mechanic.now).events
    return [event.reason for event in events if isinstance(event, ev.Refused)]


def stages(mechanic: Mechanic) -> Iterator[When]:
    """A whole job, and from every few turns a look back and a hold, too."""
    mechanic.opens()
    for turn in range(1000):
        yield place(mechanic.state)
        if mechanic.state.closed:
            return
        before = mechanic.state
        if turn % 7 == 0 and before.step and not before.question:
            for command in (Command.GO_BACK, Command.HOLD):
                mechanic.says(command)
                yield place(mechanic.state)
                mechanic.state = before
        mechanic.obliges()
    raise AssertionError("the job comes to no end")


@pytest.mark.parametrize("procedure", [SUMP, COOLANT], ids=lambda procedure: procedure.title)
def test_what_can_be_said_is_never_out_of_place(procedure) -> None:
    mechanic = Mechanic(procedure)
    seen = set()
    for where in stages(mechanic):
        seen.add(where)
        for command in expected(mechanic.state).commands:
            if command in HELD_BACK and where is When.HELD:
                continue
            said = refusals(mechanic, command)
            assert not [why for why in said if why.startswith(OUT_OF_PLACE)], (where, command)
    assert {When.AT_STEP, When.LOOKING, When.HELD, When.CLOSED, When.YES_OR_NO, When.READ_BACK} <= seen


@pytest.mark.parametrize("procedure", [SUMP, COOLANT], ids=lambda procedure: procedure.title)
def test_what_moves_the_job_moves_nothing_where_it_may_not_be_said(procedure) -> None:
    mechanic = Mechanic(procedure)
    for where in stages(mechanic):
        if where is When.BETWEEN:  # There "done" and the like lead on to the step that is wanted.
            continue
        before = mechanic.state
        for command in Command:
            if command.row.kind is Kind.MOVES and where not in command.row.when:
                after = decide(before, Heard(command), mechanic.now).state
                assert after.current == before.current, (where, command)
                assert after.settled == before.settled, (where, command)
                asked = after.question == before.question or isinstance(after.question, Proof)
                assert asked, "only a proof that was lost by silence is asked for"
