"""Each procedure that comes along, worked to its end; and with any one closing step left out."""

import json
from datetime import timedelta
from pathlib import Path

import pytest

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import fold
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.rules.ledger import open_things
from companion.procedure.read import read_procedure
from tests.job.buried.working import at_step, work_until

PATHS = sorted((Path(__file__).parents[2] / "procedures").glob("*.yaml"))
PROCEDURES = {path.stem: read_procedure(path) for path in PATHS}
CLOSING = [
    pytest.param(name, step.id, id=f"{name}: {step.id}")
    for name, procedure in PROCEDURES.items()
    for step in procedure.steps
    if step.closes or step.renews or step.restores
]


@pytest.mark.parametrize("name", PROCEDURES)
def test_the_whole_job(name, mechanic_for):
    mechanic = mechanic_for(PROCEDURES[name])
    mechanic.opens()
    work_until(mechanic, lambda state: state.closed)
    assert not open_things(mechanic.state)
    done = {event.step for event in mechanic.happened(ev.StepDone)}
    assert done == {step.id for step in PROCEDURES[name].steps}


@pytest.mark.parametrize("name", PROCEDURES)
def test_the_whole_job_without_what_is_optional(name, mechanic_for):
    mechanic = mechanic_for(PROCEDURES[name])
    mechanic.opens()

    def decline(state: State) -> bool:
        if state.question == "step wanted":
            mechanic.says(Command.NO)
        return state.closed

    work_until(mechanic, decline)
    assert not open_things(mechanic.state)


@pytest.mark.parametrize(("name", "step_id"), CLOSING)
def test_leaving_out_one_closing_step_keeps_the_job_open_and_says_so(name, step_id, mechanic_for):
    procedure = PROCEDURES[name]
    step = procedure.step(step_id)
    mechanic = mechanic_for(procedure)
    mechanic.opens()
    work_until(mechanic, at_step(step))
    said_before = len(mechanic.sayings)
    mechanic.says(Command.SKIP, reason="left out")
    back = at_step(step)
    if mechanic.state.question:  # After the long wait the isolation is proved first.
        work_until(mechanic, back)
        mechanic.says(Command.SKIP, reason="left out")
    work_until(mechanic, lambda state: back(state) or state.closed)
    assert not mechanic.state.closed
    still = [t for t in open_things(mechanic.state) if t.id in (*step.closes, *step.renews, step.restores)]
    assert still
    why = [*(thing.text.lower() for thing in still), "must be", "was not done"]
    said = " ".join(s.text for s in mechanic.sayings[said_before:]).lower()
    assert any(reason in said for reason in why)
    mechanic.says(Command.CLOSE_JOB)
    named = " ".join(s.text for s in mechanic.sayings[-8:]).lower()
    assert all(thing.text.lower() in named for thing in still)
    assert not mechanic.state.closed
    work_until(mechanic, lambda state: state.closed)


@pytest.mark.parametrize("name", PROCEDURES)
def test_killed_at_every_event_and_resumed_nothing_acknowledged_is_lost(name, mechanic_for):
    """The log up to any event, read back through its lines, is where the job stood, and it goes on there."""
    procedure = PROCEDURES[name]
    whole = mechanic_for(procedure)
    whole.opens()
    work_until(whole, lambda state: state.closed)
    lines = [
        json.dumps(ev.Record(seq=n, at=at.wall, mono=at.mono, event=event).line())
        for n, (event, at) in enumerate(whole.events, start=1)
    ]
    replayed = live = State(procedure)
    for number, (line, (event, at)) in enumerate(zip(lines, whole.events, strict=True)):
        record = ev.Record.from_line(json.loads(line))
        replayed = fold(replayed, record.event, Instant(record.at, record.mono))
        live = fold(live, event, at)
        assert replayed == live
        if replayed.closed or number % 3:
            continue
        resumed = mechanic_for(procedure)
        resumed.state = replayed
        resumed.now = Instant(at.wall + timedelta(seconds=10), at.mono + timedelta(seconds=10))
        resumed.opens()
        assert resumed.state.settled == replayed.settled
        assert resumed.state.open_items == replayed.open_items
        assert resumed.state.notes == replayed.notes
        assert set(replayed.deadlines) <= set(resumed.state.deadlines) | resumed.state.reached
    assert replayed == whole.state


@pytest.mark.parametrize("name", PROCEDURES)
def test_from_a_kill_in_the_middle_of_any_turn_the_job_can_be_finished(name, mechanic_for):
    procedure = PROCEDURES[name]
    whole = mechanic_for(procedure)
    whole.opens()
    work_until(whole, lambda state: state.closed)
    states = [State(procedure)]
    for event, at in whole.events:
        states.append(fold(states[-1], event, at))
    for cut in range(1, len(states) - 1, 37):
        resumed = mechanic_for(procedure)
        resumed.state = states[cut]
        at = whole.events[cut - 1][1]
        resumed.now = Instant(at.wall + timedelta(hours=1), timedelta(minutes=1))
        resumed.opens(boot="boot-2")
        work_until(resumed, lambda state: state.closed)
