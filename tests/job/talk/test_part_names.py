"""Which part is waited for: asked for, called for short, and asked back when the procedure has it not."""

import pytest

from companion.job.facts import events as ev
from companion.job.facts.commands import Command


def test_a_name_that_was_not_understood_is_a_part_without_one(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.AWAIT_PART)
    said = mechanic.says(Command.WORDS, text="")
    assert said == ["How long until a part is here? Say a number of days, or no."]
    mechanic.says(Command.DURATION, minutes="2880")
    mechanic.says(Command.YES)
    assert "part:1" in mechanic.state.deadlines


class TestNotInTheProcedure:
    """A name that was misheard, or a part of another job: asked back before anything is waited for."""

    def test_it_is_asked_back_and_until_then_it_counts_for_nothing(self, mechanic):
        mechanic.isolates_the_battery()
        said = mechanic.says(Command.AWAIT_PART, text="the bearing")
        assert said[-1] == "Wait for the bearing? It is not in this procedure. Yes or no?"
        assert mechanic.state.held
        assert mechanic.state.held_because == "waiting for a part"
        assert not mechanic.happened(ev.DeadlineSet)[1:]
        said = mechanic.says(Command.YES)
        assert said == ["How long until the bearing is here? Say a number of days, or no."]
        assert mechanic.state.held_because == "waiting for the bearing"

    def test_a_no_asks_for_the_name_and_another_leaves_it(self, mechanic):
        mechanic.isolates_the_battery()
        mechanic.says(Command.AWAIT_PART, text="the beeline in three days")
        assert mechanic.says(Command.NO) == ["Which part? Say its name, or no."]
        said = mechanic.says(Command.WORDS, text="the gasket, in three days")
        assert said == ["The sump gasket, expected in 3 days. Right? Yes or no?"], "called for short"
        mechanic.says(Command.NO)
        assert mechanic.says(Command.NO) == ["No reminder, then. Say carry on to go on."]
        assert not [d for d in mechanic.state.deadlines if d.startswith("part")]

    @pytest.mark.parametrize("name", ["the oil level connector", "flange sealant", "filler cap ring"])
    def test_what_the_procedure_speaks_of_is_no_stranger(self, mechanic, name):
        mechanic.isolates_the_battery()
        said = mechanic.says(Command.AWAIT_PART, text=name)
        assert said[-1].startswith("How long until ")

    def test_what_is_awaited_already_is_not_asked_back_again(self, mechanic):
        mechanic.isolates_the_battery()
        mechanic.says(Command.AWAIT_PART, text="the bearing in three days")
        mechanic.says(Command.YES)
        said = mechanic.says(Command.AWAIT_PART, text="the bearing")
        assert said[-1].startswith("How long until the bearing")
