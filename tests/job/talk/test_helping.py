"""Help, and what comes next: what is wanted first, nothing that would be refused, in groups to remember."""

import re
import sys
from datetime import timedelta
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from companion.job import messages as msg  # noqa: E402
from companion.job.decide import decide  # noqa: E402
from companion.job.facts import events as ev  # noqa: E402
from companion.job.facts.commands import Command  # noqa: E402
from companion.job.rules.expected import expected  # noqa: E402
from companion.procedure.numbers import number  # noqa: E402
from companion.procedure.read import read_procedure  # noqa: E402
from companion.rehearsal.obliging import next_answer  # noqa: E402
from companion.work.inbox import Typed  # noqa: E402
from companion.work.keys import understood  # noqa: E402
from tests.job.conftest import Mechanic  # noqa: E402

SHIPPED = [read_procedure(path) for path in sorted((ROOT / "procedures").glob("*.yaml"))]
QUESTIONS = ("what size", "what torque", "how many", "where", "what tools", "more")


def offered(sayings):
    """What one help offers, in order."""
    found = []
    for text in sayings:
        listed = re.fullmatch(r"(?:Say|Or) (.*?)\.(?: Say help again for more\.)?", text)
        if listed:  # else it is a reminder that was due
            found.append(listed[1].replace("time, such", "time such").split(", "))
    assert found, sayings
    return found


def all_groups(mechanic):
    """Every group, by saying help again and again until the first comes round."""
    groups = []
    while (group := offered(mechanic.says(Command.HELP))) not in groups:
        groups.append(group)
    return groups


@pytest.fixture
def tightening(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.DONE)
    mechanic.state_is("new seal fitted")
    mechanic.says(Command.DONE)
    assert mechanic.state.current == "sump-on"
    return mechanic


def test_two_sayings_of_at_most_five_and_again_the_next_group(tightening):
    groups = all_groups(tightening)
    assert len(groups) > 1
    for group in groups:
        assert len(group) <= 2
        assert all(len(saying) <= 5 for saying in group)
    words = [word for group in groups for saying in group for word in saying]
    assert len(words) == len(set(words)), "nothing is told twice before it begins again"


def test_anything_said_in_between_begins_at_the_first_group(tightening):
    first = tightening.says(Command.HELP)
    assert tightening.says(Command.HELP) != first
    tightening.says(Command.WHAT_SIZE)
    assert tightening.says(Command.HELP) == first


def test_what_is_wanted_comes_first_then_the_questions_that_have_an_answer(tightening):
    (first, _), *_ = all_groups(tightening)
    assert first[:4] == ["done", "what size", "what torque", "how many"]
    tightening.opens()
    words = [word for group in all_groups(tightening) for saying in group for word in saying]
    assert "what tools" not in words
    assert "where" not in words


def test_a_spoken_state_a_reading_a_count_and_an_answer_are_what_is_wanted(mechanic):
    mechanic.opens()
    assert offered(mechanic.says(Command.HELP))[0][:2] == ["yes", "no"]
    mechanic.says(Command.YES)
    assert offered(mechanic.says(Command.HELP))[0][0] == "battery disconnected"
    mechanic.state_is("battery disconnected")
    assert offered(mechanic.says(Command.HELP))[0][0] == "what is waiting"
    mechanic.waits(minutes=3)
    assert offered(mechanic.says(Command.HELP))[0][0] == "the reading in volts"
    mechanic.reads("12.4")
    assert offered(mechanic.says(Command.HELP))[0][0] == "what is waiting", "it would be too early"
    mechanic.waits(minutes=3)
    mechanic.reads("0.1")
    mechanic.state_is("oil drained")
    mechanic.says(Command.DONE)
    assert offered(mechanic.says(Command.HELP))[0][0] == "one"
    mechanic.says(Command.NOTE)
    assert offered(mechanic.says(Command.HELP))[0][:2] == ["it in your own words", "no"]
    mechanic.says(Command.NO)
    mechanic.says(Command.HOLD)
    assert offered(mechanic.says(Command.HELP))[0][0] == "carry on"


@pytest.mark.parametrize("procedure", SHIPPED, ids=lambda p: p.title)
def test_nothing_that_help_offers_is_refused_at_any_point_of_a_job(procedure, mechanic_for):
    """Typed as it is offered, at every turn of a whole job."""
    mechanic = mechanic_for(procedure)
    mechanic.opens()
    tried = 0
    met = set()
    for _ in range(900):
        if mechanic.state.closed:
            break
        mechanic.says(Command.REPEAT)
        here, now = mechanic.state, mechanic.now
        point = (here.current, here.question, here.held)
        groups = [] if point in met else all_groups(mechanic)
        met.add(point)
        for group in groups:
            for words in (word for saying in group for word in saying):
                if words.startswith(("the reading in", "it in your own words", "a length of time")):
                    continue
                can = expected(here)
                message = understood(Typed(words), can)
                assert isinstance(message, msg.Heard), words
                events = decide(here, message, now).events
                assert not [e for e in events if isinstance(e, ev.Refused)], words
                tried += 1
        mechanic.obliges()
    assert mechanic.state.closed
    assert tried > 500


class TestWhatIsNext:
    def test_it_is_the_step_that_then_comes(self, mechanic):
        mechanic.isolates_the_battery()
        before = mechanic.state
        (said,) = mechanic.says(Command.WHAT_IS_NEXT)
        assert said == "After this, step 4: Unplug the oil level sensor."
        changed = {"last_heard", "last_command", "in_a_row", "last_said"}
        assert all(getattr(before, f) == getattr(mechanic.state, f) for f in vars(before) if f not in changed)

    @pytest.mark.parametrize("procedure", SHIPPED, ids=lambda p: p.title)
    def test_it_comes_true_in_every_shipped_job(self, procedure, mechanic_for):
        mechanic = mechanic_for(procedure)
        mechanic.opens()
        foretold, seen = "", 0
        for _ in range(900):
            if mechanic.state.closed:
                break
            step = mechanic.state.current
            if step and not mechanic.state.question:
                foretold = mechanic.says(Command.WHAT_IS_NEXT)[0]
            mechanic.obliges()
            coming = mechanic.state.step
            if coming and coming.id != step and step and "After this, step" in foretold:
                assert foretold.endswith(f"step {procedure.number(coming.id)}: {coming.say}")
                seen += 1
        assert seen > 20

    def test_a_wait_is_told_and_what_comes_after_it(self, mechanic):
        mechanic.opens()
        mechanic.says(Command.YES)
        (said,) = mechanic.says(Command.WHAT_IS_NEXT)
        assert said.startswith("After this nothing can be done at once: ")
        assert "3 min" in said
        assert said.endswith("Then step 2: Measure across the leads.")

    def test_a_step_that_may_be_left_out_is_told_as_such(self, mechanic):
        mechanic.takes_the_sump_off()
        mechanic.puts_the_sump_on()
        assert mechanic.says(Command.WHAT_IS_NEXT) == [
            "After this, if you want it, step 11: Look over the wheel arch liner."
        ]

    def test_in_a_hold_too_and_after_it_nothing_has_changed(self, mechanic):
        mechanic.isolates_the_battery()
        mechanic.says(Command.HOLD)
        assert mechanic.says(Command.WHAT_IS_NEXT)[0].startswith("After this, step 4")
        assert mechanic.state.held


def test_another_step_that_can_be_done_meanwhile_is_offered_too():
    mechanic = Mechanic(next(procedure for procedure in SHIPPED if procedure.title == "Sump reseal"))
    mechanic.opens()
    while not expected(mechanic.state).steps:
        answer = next_answer(mechanic.state, mechanic.now.wall)
        assert not isinstance(answer, timedelta), "a wait is offered another step before it is sat out"
        mechanic.post(answer)
    words = [word for group in all_groups(mechanic) for saying in group for word in saying]
    steps = [f"step {number(n)}" for n in expected(mechanic.state).steps]
    assert steps == [word for word in words if word.startswith("step ")]
