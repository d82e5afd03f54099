"""What can be left out now, by which words; and what is loose without an item that stands for it."""

from dataclasses import replace

from companion.cli.speech.at_step import expecting_in
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said import questions as q
from companion.job.rules.expected import expected
from companion.work.inbox import Typed
from companion.work.keys import understood
from tests.job.buried.working import SUMP, WHY, at, leaves_out, work_until
from tests.procedure.jobs import COVER_AND_CORE, PANELS, job, step


class TestLooseEnds:
    """A skipped tightening that the ledger has no item for."""

    STEPS = (*COVER_AND_CORE[:3], step("bolts", "tighten", torque="9 N·m"), COVER_AND_CORE[3])

    def test_of_the_step_at_hand(self):
        mechanic = at(job(PANELS, *self.STEPS), "bolts")
        said = mechanic.says(Command.SKIP, reason="no wrench")
        assert said[1] == "The bolt is not tightened. Step 5, do cover-on, waits for it."
        assert mechanic.state.current == "bolts"
        leaves_out(mechanic)
        assert mechanic.state.current == "cover-on"
        assert mechanic.happened(ev.StepSkipped)[-1].for_good
        mechanic.says(Command.UNDO)
        assert mechanic.state.current == "bolts"

    def test_of_one_skipped_earlier(self):
        steps = [*self.STEPS[:4], step("look", "inspect"), self.STEPS[4]]
        mechanic = at(job(PANELS, *steps), "bolts")
        mechanic.says(Command.SKIP, reason="no wrench")
        assert mechanic.state.current == "look"
        assert mechanic.says(Command.LEAVE_OUT) == [
            "The bolt is not tightened. Leave it so for good? Yes or no?"
        ]
        mechanic.says(Command.YES)
        said = mechanic.says(Command.WORDS, text=WHY)
        assert said == [f"The bolt is not tightened. Left so for good: {WHY}."]
        work_until(mechanic, lambda state: isinstance(state.question, q.Close))
        assert f"The bolt is not tightened: {WHY}." in [s.text for s in mechanic.sayings]


class TestWhatCanBeSaid:
    def test_only_what_the_step_at_hand_or_a_skipped_one_puts_back(self):
        mechanic = at(SUMP, "fit-strainer")
        assert expected(mechanic.state).leaves_out == ("oil strainer",)
        assert Command.LEAVE_OUT in expected(mechanic.state).commands
        mechanic.obliges()
        mechanic.says(Command.UNDO)
        mechanic.says(Command.SKIP, reason="later")
        assert mechanic.state.current == "scrape-faces"
        assert expected(mechanic.state).leaves_out == ("oil strainer",)

    def test_nothing_where_nothing_can_be_left_out(self):
        for step_id in ("scrape-faces", "fill-oil", "restore-battery"):
            can = expected(at(SUMP, step_id).state)
            assert (can.leaves_out, Command.LEAVE_OUT in can.commands) == ((), False)

    def test_phrases_list_it_at_a_step_without_a_job(self):
        assert expecting_in(SUMP, "fit-strainer").leaves_out == ("oil strainer",)
        assert expecting_in(SUMP, "fill-oil").leaves_out == ()

    def test_not_while_the_job_is_held_or_closed(self):
        mechanic = at(SUMP, "fit-strainer")
        for state in (replace(mechanic.state, held=True), replace(mechanic.state, closed=True)):
            assert expected(state).leaves_out == ()


class TestByTheKeys:
    """A whole conversation, typed as it would be said."""

    def types(self, mechanic, text: str) -> list[str]:
        return mechanic.post(understood(Typed(text), expected(mechanic.state)))

    def test_a_thing_is_left_out_and_taken_back(self):
        mechanic = at(SUMP, "fit-strainer")
        (asked,) = self.types(mechanic, "leave the strainer out")
        assert asked.startswith("Leave the oil strainer out for good")
        assert self.types(mechanic, "yes") == ["Why?"]
        said = self.types(mechanic, "the new ring is too wide")
        assert said[0] == "The oil strainer is off. Left so for good: the new ring is too wide."
        said = self.types(mechanic, "undo")
        assert said[0] == "The oil strainer is not left out any more."

    def test_help_does_not_offer_what_would_be_refused(self):
        mechanic = at(SUMP, "fill-oil")
        assert not any("leave" in text for text in self.types(mechanic, "help"))
