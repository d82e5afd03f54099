"""Each gate by itself. In a job several stand behind one another; here none is helped by another."""

from dataclasses import replace
from datetime import timedelta

import pytest

from companion.job.facts.commands import Command
from companion.job.facts.energy import EnergyState
from companion.job.facts.state import How, Settled
from companion.job.rules.gates import Shut, refusal


def with_all_before_done(mechanic, step_id: str):
    """The state in which only what the step itself needs can be missing."""
    position = mechanic.procedure.number(step_id) - 1
    at = mechanic.now.wall
    done = {s.id: Settled(s.id, How.DONE, at) for s in mechanic.procedure.steps[:position]}
    return replace(mechanic.state, settled=done, parts={"gasket": True})


@pytest.mark.parametrize("energy", [None, *EnergyState])
def test_only_what_is_proved_dead_may_be_worked_on(mechanic, energy):
    state = with_all_before_done(mechanic, "unplug")
    state = replace(state, energy={} if energy is None else {"battery": energy})
    shut = refusal(state, mechanic.procedure.step("unplug"), mechanic.now.wall)
    assert (shut is None) == (energy is EnergyState.PROVED_DEAD)
    assert shut is None or shut.gate is Shut.LIVE


def test_the_step_before_comes_first(mechanic):
    shut = refusal(mechanic.state, mechanic.procedure.step("drain"), mechanic.now.wall)
    assert shut is not None
    assert (shut.gate, shut.reason) == (Shut.ORDER, "step 2 comes first")


def test_a_proof_needs_a_wait_that_was_started_and_is_over(mechanic):
    step = mechanic.procedure.step("battery-dead")
    state = with_all_before_done(mechanic, "battery-dead")
    assert refusal(state, step, mechanic.now.wall).gate is Shut.LIVE
    isolating = replace(state, energy={"battery": EnergyState.ISOLATING})
    assert (
        refusal(isolating, step, mechanic.now.wall).reason
        == "the isolation wait for the battery has not begun"
    )
    waited = replace(isolating, reached=frozenset({"isolation-wait:battery"}))
    assert refusal(waited, step, mechanic.now.wall) is None


def test_a_joint_needs_its_new_seal(mechanic):
    state = with_all_before_done(mechanic, "sump-on")
    step = mechanic.procedure.step("sump-on").model_copy(update={"assembles": None})
    assert refusal(state, step, mechanic.now.wall) is None
    old = replace(state, open_seals={"sump-gasket": "sump-off"})
    assert refusal(old, step, mechanic.now.wall).gate is Shut.SEAL


def test_a_joint_needs_its_part_on_the_bench(mechanic):
    step = mechanic.procedure.step("sump-off")
    for parts in ({}, {"gasket": False}):
        state = replace(with_all_before_done(mechanic, "sump-off"), parts=parts)
        assert refusal(state, step, mechanic.now.wall).gate is Shut.PART_MISSING
    assert refusal(with_all_before_done(mechanic, "sump-off"), step, mechanic.now.wall) is None


def test_an_assembly_needs_sealant_that_is_known_to_be_fresh(mechanic):
    state = with_all_before_done(mechanic, "sump-on")
    shut = refusal(state, mechanic.procedure.step("sump-on"), mechanic.now.wall)
    assert shut.gate is Shut.SKIN_OVER


def test_a_cure_that_never_started_is_not_over(mechanic):
    state = with_all_before_done(mechanic, "refill")
    step = mechanic.procedure.step("refill")
    assert refusal(state, step, mechanic.now.wall + timedelta(days=99)).gate is Shut.CURE
    cured = replace(state, reached=frozenset({"cure:sump-on"}))
    assert refusal(cured, step, mechanic.now.wall) is None


def test_restoring_needs_everything_under_the_isolation_put_right(mechanic):
    state = replace(with_all_before_done(mechanic, "battery-on"), reached=frozenset({"cure:sump-on"}))
    step = mechanic.procedure.step("battery-on")
    assert refusal(state, step, mechanic.now.wall) is None
    off = replace(state, open_items={"sensor": "unplug"})
    assert refusal(off, step, mechanic.now.wall).gate is Shut.STILL_OPEN
    undone = replace(state, settled={k: v for k, v in state.settled.items() if k != "unplug"})
    assert refusal(undone, step, mechanic.now.wall).gate is Shut.STILL_OPEN


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "1e999", "", "many"])
def test_what_measures_nothing_is_not_even_read_back(mechanic, value):
    mechanic.opens()
    mechanic.says(Command.YES)
    mechanic.state_is("battery disconnected")
    mechanic.waits(minutes=3)
    assert mechanic.says(Command.READING, value=value) == [
        f"No: {value!r} is not a number." if value else "I heard no number."
    ]
    assert mechanic.state.question is None
