"""Jobs of six other trades, on invented machines: the check finds nothing, and they are worked to the end."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import group
from companion.job.facts import events as ev
from companion.job.facts.state import How
from companion.procedure.model import Procedure, SealUse
from companion.procedure.read import read_procedure
from tests.job.conftest import Mechanic

TRADES = sorted(Path(__file__).parent.glob("*.yaml"))


@pytest.fixture(params=TRADES, ids=[path.stem for path in TRADES])
def path(request: pytest.FixtureRequest) -> Path:
    trade: Path = request.param
    return trade


@pytest.fixture
def procedure(path: Path) -> Procedure:
    return read_procedure(path)


def worked(procedure: Procedure) -> Mechanic:
    """The job of someone who does what is asked."""
    mechanic = Mechanic(procedure)
    mechanic.works_to_its_end()
    return mechanic


def test_there_are_six() -> None:
    assert len(TRADES) == 6


def test_the_check_finds_nothing(path: Path) -> None:
    result = CliRunner().invoke(group, ["check", "--strict", str(path)])
    assert (result.exit_code, "no fault, 0 pieces of advice" in result.output) == (0, True), result.output


def test_it_is_worked_to_its_end(procedure: Procedure) -> None:
    mechanic = worked(procedure)
    assert mechanic.state.closed
    assert {settled.how for settled in mechanic.state.settled.values()} == {How.DONE}
    readings = [event for event, _ in mechanic.events if isinstance(event, ev.ReadingTaken)]
    wanted = {s.id for s in procedure.steps if s.measure} | {
        s.id for s in procedure.steps if s.proves and procedure.energy[s.proves].prove
    }
    assert {reading.step for reading in readings} == wanted
    assert all(reading.within for reading in readings)


def test_it_is_made_safe_and_put_back_as_a_careful_tradesman_would(procedure: Procedure) -> None:
    steps = procedure.steps
    assert procedure.energy
    assert {s.isolates for s in steps} == {s.proves for s in steps} == {s.restores for s in steps}
    assert [
        seal.name for seal in procedure.seals.values() if seal.use is SealUse.SINGLE and not seal.part
    ] == []
    assert procedure.follow_ups
    assert procedure.cautions
    refits = [f for s in steps if s.act == "tighten" for f in s.fasteners]
    assert refits
    assert all(f.tightening for f in refits)


def test_new_kinds_of_energy_things_and_units_are_used() -> None:
    procedures = [read_procedure(path) for path in TRADES]
    sources = {energy.source.called for p in procedures for energy in p.energy.values()}
    kinds = {item.kind.called for p in procedures for item in p.items.values()}
    units = {s.measure.unit for p in procedures for s in p.steps if s.measure}
    assert sources >= {"petrol tap", "ignition switch", "refrigerant", "raised load", "hot part", "hydraulic"}
    assert kinds >= {"belt", "cable", "charge", "guard", "tap"}
    assert units >= {"g", "Hz", "mbar", "mL", "mm"}
