"""Every way past every kind of energy gate is tried, and refused.

The order is that of OSHA 29 CFR 1910.147(d): prepare, shut down, isolate, apply devices, relieve stored
energy (and verify again where it can build up again), verify; only then the work, and restoring only
when the work is cleared away, 1910.147(e).
"""

from collections.abc import Callable
from datetime import timedelta

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.energy import EnergyState
from companion.job.facts.instant import Instant
from companion.procedure.model import EnergySource, Procedure
from tests.helpers.said import unsure

WAIT = timedelta(minutes=10)
PROOFS = ("reading", "words")
SOURCES = {(s.licensed, s.carries, s.presses, s.deadly): n for n, s in EnergySource.known.items()}.values()
"""One of each sort: those of a sort differ in their words alone."""


def procedure_for(source: str, proof: str) -> Procedure:
    energy = {"name": f"the {source}", "source": source, "wait": "10 min"}
    proving = {"id": "prove", "act": "verify", "say": "Prove it.", "book": "1 min", "proves": "it"}
    if proof == "reading":
        energy["prove"] = {"what": "what is left", "unit": "V", "at_most": 12}
    else:
        proving["state"] = "nothing is left"
    return Procedure.from_data({
        "title": "One source", "revision": "1", "applies_to": ["anything invented"],
        "source_of_torques": "invented",
        "energy": {"it": energy},
        "items": {"cover": {"name": "the cover", "kind": "panel"}},
        "steps": [
            {"id": "isolate", "act": "isolate", "say": "Isolate it.", "book": "1 min", "isolates": "it",
             "state": "it is isolated"},
            proving,
            {"id": "work", "act": "remove", "say": "Cover off.", "book": "5 min", "opens": ["cover"],
             "needs_isolated": ["it"]},
            {"id": "close-up", "act": "fit", "say": "Cover on.", "book": "5 min", "closes": ["cover"],
             "needs_isolated": ["it"]},
            {"id": "restore", "act": "restore", "say": "Restore it.", "book": "1 min", "restores": "it",
             "state": "it is restored"},
        ],
    })  # fmt: skip


@pytest.fixture(params=[(source, proof) for source in SOURCES for proof in PROOFS],
                ids=lambda p: f"{p[0]}, {p[1]}")  # fmt: skip
def isolated(request, mechanic_for):
    """The source has just been isolated: its wait runs, and nothing is proved."""
    mechanic = mechanic_for(procedure_for(*request.param))
    mechanic.opens()
    mechanic.state_is("it is isolated")
    return mechanic


def gives_proof(mechanic) -> None:
    if mechanic.procedure.energy["it"].prove:
        mechanic.reads("3.5")
    else:
        mechanic.state_is("nothing is left")


def unsure_then_yes(mechanic) -> None:
    words = {"state": "nothing is left"}
    mechanic.post(unsure(Command.STATE, words, "nothing is left", 0.6))
    mechanic.says(Command.YES)


def unsure_reading_then_yes(mechanic) -> None:
    mechanic.post(unsure(Command.READING, {"value": "1", "unit": "V"}, "one volt", 0.6))
    mechanic.says(Command.YES)


def jumps(mechanic, by: timedelta, told: bool) -> None:
    mechanic.now = Instant(mechanic.now.wall + by, mechanic.now.mono)
    mechanic.post(msg.ClockJumped(by) if told else msg.Woken())


def jumps_and_proves(mechanic, told: bool) -> None:
    jumps(mechanic, timedelta(hours=5), told)
    gives_proof(mechanic)


def held_and_carried_on(mechanic) -> None:
    mechanic.says(Command.HOLD)
    mechanic.says(Command.DONE)
    mechanic.says(Command.YES)
    mechanic.says(Command.CARRY_ON)


def stopped_and_carried_on(mechanic) -> None:
    mechanic.says(Command.STOP_WORK)
    mechanic.says(Command.DONE)
    mechanic.says(Command.CARRY_ON)


def restarted_with_a_clock_ahead(mechanic) -> None:
    mechanic.now = Instant(mechanic.now.wall + timedelta(hours=5), mechanic.now.mono)
    mechanic.post(msg.Opened("boot-1"))
    gives_proof(mechanic)


def held_mid_readback(mechanic) -> None:
    mechanic.says(Command.READING, value="1", unit="V")
    mechanic.says(Command.HOLD)
    mechanic.says(Command.YES)
    mechanic.says(Command.CARRY_ON)
    mechanic.says(Command.YES)


TRICKS: dict[str, Callable] = {
    "done": lambda m: m.says(Command.DONE),
    "done five times": lambda m: [m.says(Command.DONE) for _ in range(5)],
    "the wrong state": lambda m: m.state_is("it is isolated"),
    "the state of another step": lambda m: m.state_is("it is restored"),
    "an empty state": lambda m: m.state_is(""),
    "a reading nobody confirmed": lambda m: m.says(Command.READING, value="1", unit="V"),
    "a reading taken back": lambda m: (m.says(Command.READING, value="1", unit="V"), m.says(Command.NO)),
    "a reading in another unit": lambda m: m.reads("1", "bar"),
    "a reading that is no number": lambda m: m.reads("nan"),
    "an endless reading": lambda m: m.reads("-inf"),
    "a reading out of limits": lambda m: m.reads("12.1"),
    "a live reading with the leads swapped": lambda m: m.reads("-400"),
    "a bare yes": lambda m: m.says(Command.YES),
    "skip": lambda m: m.says(Command.SKIP),
    "skip with a reason": lambda m: m.says(Command.SKIP, reason="no time"),
    "skip, and words": lambda m: (m.says(Command.SKIP), m.says(Command.WORDS, text="no time")),
    "go back, and done": lambda m: (m.says(Command.GO_BACK), m.says(Command.DONE)),
    "carry on": lambda m: m.says(Command.CARRY_ON),
    "got it": lambda m: m.says(Command.GOT_IT),
    "a count": lambda m: m.says(Command.COUNT, number="1"),
    "close the job": lambda m: (m.says(Command.CLOSE_JOB), m.says(Command.YES)),
    "a timer": lambda m: (m.says(Command.START_TIMER, minutes="1"), m.says(Command.CANCEL_TIMER)),
    "an unclear state, and yes": unsure_then_yes,
    "an unclear reading, and yes": unsure_reading_then_yes,
    "hold and carry on": held_and_carried_on,
    "hold while a reading waits for yes": held_mid_readback,
    "stop work and carry on": stopped_and_carried_on,
    "an unclear stop work, and carry on": lambda m: (
        m.post(msg.Unsure(Command.STOP_WORK, None, "stop work", 0.4)), m.says(Command.YES),
        m.says(Command.CARRY_ON)),
    "a part that is awaited and comes": lambda m: (
        m.says(Command.AWAIT_PART, text="a ring in two days"), m.says(Command.YES),
        m.says(Command.PART_HERE), m.says(Command.YES), m.says(Command.YES), m.says(Command.CARRY_ON)),
    "a part typed at the desk": lambda m: (
        m.post(msg.PartAwaited("ring", timedelta(days=2))), m.post(msg.PartCame("ring"))),
    "a restart": lambda m: m.post(msg.Opened("boot-1")),
    "a restart of the machine": lambda m: m.post(msg.Opened("boot-2")),
}  # fmt: skip
EARLY: dict[str, Callable] = {
    "a clock ahead by too little to be told": lambda m: (
        m.waits(minutes=9, seconds=59),
        m.set_clock(seconds=1.9),
        m.post(msg.Woken()),
        gives_proof(m),
    ),
    "the proof before the wait is over": gives_proof,
    "a clock set forward": lambda m: jumps_and_proves(m, told=True),
    "a clock set forward, untold": lambda m: jumps_and_proves(m, told=False),
    "a restart with a clock set forward": restarted_with_a_clock_ahead,
    "hold, carry on and prove": lambda m: (held_and_carried_on(m), gives_proof(m)),
    "isolating once more": lambda m: (m.says(Command.UNDO), m.state_is("it is isolated"), gives_proof(m)),
}


def not_reached(mechanic) -> None:
    assert mechanic.state.energy_state("it") is not EnergyState.PROVED_DEAD
    assert "work" not in {event.step for event in mechanic.happened(ev.StepBegun)}
    assert not mechanic.happened(ev.EnergyProved)


@pytest.mark.parametrize("trick", [*TRICKS, *EARLY])
def test_no_way_past_the_gate_while_the_wait_runs(isolated, trick):
    {**TRICKS, **EARLY}[trick](isolated)
    not_reached(isolated)


@pytest.mark.parametrize("trick", TRICKS)
def test_no_way_past_the_gate_without_the_proof(isolated, trick):
    isolated.waits(minutes=10)
    TRICKS[trick](isolated)
    not_reached(isolated)


def test_the_lawful_way_leads_to_the_work(isolated):
    assert isolated.waits(minutes=9, seconds=59) == []
    isolated.waits(seconds=1)
    gives_proof(isolated)
    assert isolated.state.energy_state("it") is EnergyState.PROVED_DEAD
    assert isolated.state.current == "work"


INTERRUPTIONS: dict[str, Callable] = {
    "a hold": lambda m: (m.says(Command.HOLD), m.says(Command.CARRY_ON)),
    "stop work": lambda m: (m.says(Command.STOP_WORK), m.says(Command.CARRY_ON)),
    "a part that is awaited": lambda m: (
        m.says(Command.AWAIT_PART, text="tomorrow"),
        m.says(Command.YES),
        m.says(Command.CARRY_ON),
    ),
    "the desk between two starts": lambda m: (
        m.passes(minutes=2),
        m.post(msg.PartAwaited("ring", timedelta(days=2))),
        m.passes(seconds=9),
        m.post(msg.Opened("boot-1")),
    ),
    "a restart after two minutes": lambda m: (m.passes(minutes=2), m.post(msg.Opened("boot-1"))),
    "a restart of the machine": lambda m: m.post(msg.Opened("boot-2")),
    "a machine with its clock set back": lambda m: (m.set_clock(hours=-5), m.post(msg.Opened("boot-2"))),
    "three hours of silence": lambda m: m.passes(hours=3),
    "the proof undone": lambda m: m.says(Command.UNDO),
    "days": lambda m: (m.says(Command.HOLD), m.passes(days=4), m.post(msg.Opened("boot-2"))),
}


@pytest.mark.parametrize("interruption", INTERRUPTIONS)
def test_after_an_interruption_the_proof_is_asked_for_again(isolated, interruption):
    isolated.waits(minutes=10)
    gives_proof(isolated)
    INTERRUPTIONS[interruption](isolated)
    isolated.says(Command.DONE)
    assert isolated.state.energy_state("it") is not EnergyState.PROVED_DEAD
    assert not isolated.state.is_done("work")
    isolated.waits(minutes=10)
    gives_proof(isolated)
    assert isolated.state.energy_state("it") is EnergyState.PROVED_DEAD
    assert isolated.state.current == "work"


def test_restoring_is_refused_while_the_cover_is_off(isolated):
    isolated.waits(minutes=10)
    gives_proof(isolated)
    isolated.says(Command.DONE)
    isolated.says(Command.SKIP, reason="cover is lost")
    assert isolated.state.current == "close-up"
    assert any("The cover is off" in s.text for s in isolated.sayings)
    assert isolated.state.energy_state("it") is EnergyState.PROVED_DEAD
    isolated.says(Command.DONE)
    assert isolated.says(Command.DONE) == ['Not yet: say "it is restored".']
    isolated.state_is("it is restored")
    assert isolated.state.energy_state("it") is EnergyState.RESTORED


def test_after_a_failed_proof_the_end_of_the_wait_is_told_to_whoever_stands_there(mechanic):
    """The proving step is in hand all the while: no step boundary comes to tell it at."""
    mechanic.opens()
    mechanic.says(Command.YES)
    mechanic.state_is("battery disconnected")
    mechanic.waits(minutes=3)
    mechanic.reads("11.9")
    assert mechanic.waits(minutes=2) == []
    assert any("Prove" in said for said in mechanic.waits(minutes=1.1))
    assert mechanic.waits(minutes=5) == [], "once"


@pytest.mark.parametrize("source", SOURCES)
def test_after_a_failed_proof_the_wait_runs_again(source, mechanic_for):
    isolated = mechanic_for(procedure_for(source, "reading"))
    isolated.opens()
    isolated.state_is("it is isolated")
    isolated.waits(minutes=10)
    said = isolated.reads("400")
    assert said[0].startswith("DANGER: the ")
    assert "then wait 10 min" in said[0]
    gives_proof(isolated)
    not_reached(isolated)
    isolated.waits(minutes=10)
    gives_proof(isolated)
    assert isolated.state.current == "work"


def test_restored_is_not_live(isolated):
    assert isolated.state.energy_state("it") is EnergyState.ISOLATING
    isolated.says(Command.UNDO)
    assert isolated.state.energy_state("it") is EnergyState.LIVE


def test_licence_and_makers_data_are_always_named_where_they_must(isolated):
    isolated.waits(minutes=10)
    gives_proof(isolated)
    reminder = f"The {isolated.procedure.energy['it'].source}: trained and licensed people only."
    times = sum(s.text.startswith(reminder) for s in isolated.sayings)
    assert times == (3 if isolated.procedure.energy["it"].source.licensed else 0)


def test_a_step_that_proves_by_neither_reading_nor_words_still_wants_words(mechanic_for):
    data = procedure_for("battery", "words").model_dump()
    data["steps"][1]["state"] = None
    mechanic = mechanic_for(Procedure.from_data(data))
    mechanic.opens()
    mechanic.state_is("it is isolated")
    mechanic.waits(minutes=10)
    assert mechanic.says(Command.DONE) == ['Not yet: say "the battery proved dead".']
