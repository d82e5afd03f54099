"""Whatever is skipped, left out, taken back or held: nothing open is ever closed over, filled, bled or run.

A second opinion that shares no code with the gates watches every event; see `tests.benchmarks.safety`.
"""

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.job.facts.commands import Command
from companion.job.facts.said.questions import LeaveOut, LeaveOutReason, SkipReason
from companion.job.facts.state import How
from companion.job.messages import Heard
from companion.procedure.check import find_faults
from companion.procedure.model import Procedure
from companion.rehearsal.obliging import next_answer
from tests.benchmarks.safety.jobs import procedures
from tests.benchmarks.safety.random_jobs import random_job
from tests.benchmarks.safety.world import World, oblige
from tests.helpers.said import heard

SHIPPED = procedures()
LONGEST = 700
"""Turns in which a mechanic who skips much still gets through any of these jobs."""
random_once = cache(random_job)


def skips(world: World, leaves_it_out: bool) -> None:
    """Skip the step at hand, and leave out for good what it would have put back, if that is allowed."""
    world.post(Heard(Command.LEAVE_OUT if leaves_it_out else Command.SKIP))
    for answer in (Heard(Command.YES), heard(Command.WORDS, {"text": "not today"})):
        if isinstance(world.state.question, LeaveOut | LeaveOutReason | SkipReason):
            world.post(answer)


def works(procedure: Procedure, data: st.DataObject) -> World:
    """Through the job, leaving out what is drawn and changing one's mind where that is drawn."""
    ids = st.sampled_from([step.id for step in procedure.steps])
    closers = st.sampled_from([step.id for step in procedure.steps if step.closes])
    left = data.draw(st.sets(closers, max_size=6), label="left out for good")
    skipped = data.draw(st.sets(ids), label="skipped") | left
    often = data.draw(st.integers(1, 2), label="how often each is skipped")
    changes = data.draw(
        st.dictionaries(st.integers(1, 150), st.sampled_from(["undo", "hold", "look back and undo"])),
        label="after so many turns",
    )
    world = World(procedure)
    world.open()
    times: dict[str, int] = {}
    for turn in range(LONGEST):
        state = world.state
        if state.closed:
            return world
        ready = state.question is None and not state.held and not state.to_prove
        change = changes.get(turn) if ready else None
        step = state.current if ready and not state.looking_at else None
        if change == "hold":
            world.post(Heard(Command.HOLD))
        elif change:
            if change != "undo":
                world.post(Heard(Command.GO_BACK))
                world.post(Heard(Command.GO_BACK))
            world.post(Heard(Command.UNDO))
        elif step in skipped and times.get(step, 0) < often:
            times[step] = times.get(step, 0) + 1
            skips(world, step in left)
        else:
            oblige(world)
    raise AssertionError(f"the job cannot be finished: {world.state.last_said}")


def is_as_told(world: World) -> None:
    """Closed, with nothing open but what was left out for good."""
    world.replayed()
    left = {step for step, settled in world.state.settled.items() if settled.how is How.SKIPPED}
    for item in world.state.left_out:
        assert any(item in world.procedure.step(step).closes for step in left)
    assert not world.state.open_items


@pytest.mark.parametrize("procedure", SHIPPED, ids=lambda procedure: procedure.title)
@settings(max_examples=12)
@given(data=st.data())
def test_in_a_shipped_job(procedure: Procedure, data: st.DataObject) -> None:
    is_as_told(works(procedure, data))


@settings(max_examples=60)
@given(data=st.data())
def test_in_a_random_job(data: st.DataObject) -> None:
    is_as_told(works(random_once(data.draw(st.integers(0, 400), label="job")), data))


@pytest.mark.parametrize("seed", range(40))
def test_a_random_job_is_without_fault_and_can_be_done(seed: int) -> None:
    procedure = random_once(seed)
    assert not find_faults(procedure, kept=True)
    world = World(procedure)
    world.open()
    world.can_be_finished()
    assert all(how.how is How.DONE for how in world.state.settled.values())


def test_the_random_jobs_are_about_something() -> None:
    """They hold what is to be tried: things behind things, circuits, choices, seals and products."""
    jobs = [random_once(seed) for seed in range(40)]
    steps = [step for job in jobs for step in job.steps]
    assert any(item.reached_through for job in jobs for item in job.items.values())
    assert any(step.leaves_open for step in steps)
    assert any(step.runs_engine for step in steps)
    assert any(step.optional and step.opens for step in steps)
    assert any(step.renews for step in steps)
    assert any(step.assembles for step in steps)
    assert any(step.after is not None and len(step.after) == 2 for step in steps)


def test_the_obliging_mechanic_is_not_the_one_who_leaves_out() -> None:
    world = World(SHIPPED[0])
    world.open()
    while not world.state.closed:
        answer = next_answer(world.state, world.wall)
        assert not (isinstance(answer, Heard) and answer.command in (Command.SKIP, Command.LEAVE_OUT))
        oblige(world)
