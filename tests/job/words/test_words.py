"""What is said is said at the right moment, and in words that are so."""

import copy
from datetime import timedelta
from pathlib import Path

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.deadlines import Deadline, Kind, running
from companion.job.facts.sayings import Priority
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure
from companion.procedure.wording import sentences
from companion.rehearsal.obliging import next_answer
from tests.job.conftest import SMALL, START

PATHS = sorted((Path(__file__).parents[3] / "procedures").glob("*.yaml"))
OF_ITS_END = ("over", "has cured", "has skinned", "prove", "do not assemble", "should be here")


def changed(**steps: dict) -> Procedure:
    """The small job with some fields of its steps changed."""
    data = copy.deepcopy(SMALL)
    data["steps"] = [step | steps.get(step["id"].replace("-", "_"), {}) for step in data["steps"]]
    return Procedure.from_data(data)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_what_still_runs_is_never_told_in_the_words_of_its_end(path, mechanic_for):
    mechanic = mechanic_for(read_procedure(path))
    mechanic.opens()
    told = set()
    for _ in range(500):
        if mechanic.state.closed:
            break
        answer = next_answer(mechanic.state, mechanic.now.wall)
        if isinstance(answer, msg.Heard):
            mechanic.post(answer)
        else:
            mechanic.waits(seconds=answer.total_seconds())
        told |= {
            d.told(mechanic.now.wall) for d in running(mechanic.state.deadlines.values(), mechanic.now.wall)
        }
    assert mechanic.state.closed
    assert any(text.startswith("isolation wait for the battery, ") for text in told)
    assert [text for text in told if any(words in text.lower() for words in OF_ITS_END)] == []


@pytest.mark.parametrize(
    ("kind", "what", "told"),
    [
        (
            Kind.ISOLATION_WAIT,
            "battery: the isolation wait is over. Prove it dead.",
            "isolation wait, 3 min left",
        ),
        (Kind.CURE, "Flange sealant has cured.", "cure, 3 min left"),
        (Kind.PART_EXPECTED, "The bearing is expected.", "The bearing is expected in 3 min"),
    ],
)
def test_a_wait_of_an_old_log_is_told_by_its_kind(kind, what, told):
    deadline = Deadline("x", kind, what, START + timedelta(minutes=3), Priority.ROUTINE)
    assert deadline.told(START) == told


def test_what_has_just_been_done_is_said_before_the_hazards_of_the_next_step(mechanic):
    mechanic.isolates_the_battery()
    said = [s.text for s in mechanic.sayings[-4:]]
    assert said == [
        "Step 2 done. The battery is dead.",
        "WARNING: Hot oil burns. Let it cool.",
        "Step 3: Drain the oil.",
        'Say "oil drained".',
    ]


def test_stop_work_tells_where_each_source_stands_in_its_own_words(mechanic_for):
    mechanic = mechanic_for(read_procedure(PATHS[1]))
    mechanic.opens()
    while mechanic.state.current != "unplug-wear-sensor":
        answer = next_answer(mechanic.state, mechanic.now.wall)
        if isinstance(answer, msg.Heard):
            mechanic.post(answer)
        else:
            mechanic.waits(seconds=answer.total_seconds())
    assert sentences(mechanic.says(Command.STOP_WORK)[1]) == [
        "The battery is disconnected and dead.",
        "The vehicle is firm on its stands.",
        "The brake pressure is let off and gone.",
    ]
    back = mechanic.says(Command.CARRY_ON)
    assert back[-1] == 'Before going on, prove again that the vehicle stands firm. Say "stands hold firm".'
    said = mechanic.state_is("stands hold firm")
    assert said[-2] == "The vehicle stands firm."
    assert said[-1].startswith("Before going on, prove again that the battery is dead. Say the reading, ")


def test_a_warning_is_not_said_when_what_it_warned_of_has_come(mechanic):
    """ "Assemble now" and "do not assemble" in one breath would be one too many."""
    mechanic.takes_the_sump_off()
    mechanic.says(Command.DONE)
    mechanic.state_is("new seal fitted")
    mechanic.says(Command.DONE)
    assert mechanic.state.current == "sump-on"
    said = mechanic.waits(minutes=11)
    assert said == [
        "The flange sealant has skinned over. Do not assemble: clean it off and apply it again."
        " This was due 1 min ago."
    ]
    assert ev.DeadlineSettled(deadline="skin-over:seal:warning", how="overtaken") in mechanic.happened(
        ev.DeadlineSettled
    )


def test_where_a_torque_is_given_is_told_where_it_is_not(mechanic):
    mechanic.takes_the_sump_off()
    mechanic.says(Command.UNDO)
    assert mechanic.state.current == "sump-off"
    assert mechanic.says(Command.WHAT_TORQUE) == ["No torque here; the sump bolts are tightened in step 9."]
    mechanic.says(Command.GO_BACK)
    assert mechanic.says(Command.WHAT_TORQUE) == ["No torque here."]


def test_a_step_whose_torque_only_the_taking_apart_gives_says_so_by_itself(mechanic_for):
    """Somebody wrote the torque where the bolts come out, and not where they go in."""
    bolts = {"what": "sump bolt", "thread": "M6", "hex": 10, "count": 3}
    mechanic = mechanic_for(
        changed(
            sump_off={"fasteners": [bolts | {"stages": ["5 N·m", "10 N·m"]}]}, sump_on={"fasteners": [bolts]}
        )
    )
    mechanic.takes_the_sump_off()
    for _ in range(3):
        mechanic.says(Command.DONE)
    mechanic.state_is("new seal fitted")
    said = mechanic.says(Command.DONE)
    assert mechanic.state.current == "sump-on"
    told = "No torque here; step 5 gives 5 N·m, then 10 N·m for the sump bolts."
    assert said[-2:] == ["Step 8 done. Assemble within 10 min. Step 9: Fit the sump.", told]
    assert mechanic.says(Command.WHAT_TORQUE) == [told]


def test_a_single_use_part_that_belongs_to_no_seal_is_not_promised_to_be_asked_for_again(mechanic_for):
    mechanic = mechanic_for(read_procedure(PATHS[1]))
    mechanic.opens()
    assert mechanic.says(Command.NO) == [
        "Missing, then. I will ask again before the joint is opened.",
        "Are 4 new carrier bolts on the bench? Yes or no?",
    ]
    assert mechanic.says(Command.NO)[0] == "Missing, then. They are needed when things go back together."
