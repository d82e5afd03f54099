"""The procedures that come along are complete, and say what is invented."""

from datetime import timedelta
from functools import cache
from pathlib import Path

import pytest

from companion.procedure.check import find_faults
from companion.procedure.model import Act, Procedure, SealUse
from companion.procedure.order import Order, topological
from companion.procedure.read import read_procedure, read_with_advice

FOLDER = Path(__file__).parents[2] / "procedures"
NAMES = ("sump-reseal", "coolant-pump", "front-brakes")


@pytest.fixture(params=NAMES)
def path(request: pytest.FixtureRequest) -> Path:
    return FOLDER / f"{request.param}.yaml"


read_once = cache(read_procedure)


@pytest.fixture
def procedure(path: Path) -> Procedure:
    return read_once(path)


def test_nothing_else_is_shipped() -> None:
    assert sorted(path.stem for path in FOLDER.glob("*.yaml")) == sorted(NAMES)


def test_it_has_neither_faults_nor_oddities(path: Path) -> None:
    assert read_with_advice(path)[1] == ()


def test_it_says_that_its_values_are_invented_and_that_the_maker_rules(
    path: Path, procedure: Procedure
) -> None:
    header = " ".join(
        line.lstrip("# ") for line in path.read_text("utf-8").splitlines()[:8] if line.startswith("#")
    )
    for text in (header, procedure.source_of_torques):
        assert "invented for demonstration" in text.lower()
        assert "the data of the vehicle maker rules" in text.lower()
    assert all("invented vehicle" in vehicle for vehicle in procedure.applies_to)


def test_it_has_20_to_45_steps_that_take_apart_and_put_back(procedure: Procedure) -> None:
    assert 20 <= len(procedure.steps) <= 45
    acts = {step.act for step in procedure.steps}
    assert acts >= {Act.REMOVE, Act.DISCONNECT, Act.CLEAN, Act.INSPECT, Act.FIT, Act.CONNECT, Act.TIGHTEN} - {
        Act.FIT
    }
    assert acts & {Act.FIT, Act.APPLY}


def test_the_file_order_is_an_order_to_work_in(procedure: Procedure) -> None:
    assert topological(procedure) == tuple(step.id for step in procedure.steps)


def test_the_battery_is_isolated_first_and_proved_by_a_reading(procedure: Procedure) -> None:
    first, second = procedure.steps[:2]
    assert first.isolates is not None
    assert procedure.energy[first.isolates].source.called == "battery"
    assert second.proves == first.isolates
    reading = procedure.energy[first.isolates].prove
    assert reading is not None
    assert reading.at_most is not None


def test_it_isolates_several_sources_and_works_under_each(procedure: Procedure) -> None:
    assert len(procedure.energy) >= 3
    needed = {name for step in procedure.steps for name in step.needs_isolated}
    assert needed == set(procedure.energy)


def test_everything_opened_is_closed_later(procedure: Procedure) -> None:
    order = Order(procedure)
    for item in procedure.items:
        (opener,) = [step.id for step in procedure.steps if item in step.opens]
        (closer,) = [step.id for step in procedure.steps if item in step.closes]
        assert order.before(opener, closer)


@pytest.mark.parametrize("act", ["closes", "renews", "restores", "proves", "isolates", "opens", "disturbs"])
def test_leaving_any_one_act_out_of_a_step_is_a_fault(procedure: Procedure, act: str) -> None:
    left_out = 0
    for position, step in enumerate(procedure.steps):
        value = getattr(step, act)
        for name in (value,) if isinstance(value, str) else value or ():
            rest = None if isinstance(value, str) else tuple(other for other in value if other != name)
            steps = list(procedure.steps)
            steps[position] = step.model_copy(update={act: rest})
            spoilt = Procedure.model_validate(dict(procedure) | {"steps": tuple(steps)})
            assert any(f"'{name}'" in fault.message for fault in find_faults(spoilt)), (step.id, name)
            left_out += 1
    assert left_out


def test_it_has_single_use_and_inspected_seals(procedure: Procedure) -> None:
    assert {seal.use for seal in procedure.seals.values()} == {SealUse.SINGLE, SealUse.INSPECT}


def test_it_has_stages_sequences_bags_and_several_sizes(procedure: Procedure) -> None:
    fasteners = [fastener for step in procedure.steps for fastener in step.fasteners]
    assert any(len(fastener.stages) > 1 and fastener.sequence for fastener in fasteners)
    assert len({fastener.bag for fastener in fasteners if fastener.bag}) >= 5
    assert len({(f.hex, f.socket_hex, f.six_lobe) for f in fasteners}) >= 3


def test_it_has_a_wait_counts_a_choice_and_measures(procedure: Procedure) -> None:
    assert any(step.wait for step in procedure.steps)
    assert any(step.count and step.each for step in procedure.steps)
    assert any(step.optional for step in procedure.steps)
    assert any(step.only_if for step in procedure.steps)
    assert any(step.measure for step in procedure.steps)


def test_a_cure_is_waited_for_and_other_work_is_ready_meanwhile(procedure: Procedure) -> None:
    order = Order(procedure)
    for product in procedure.consumables.values():
        assert product.skin_over is not None
        assert product.full_cure >= timedelta(hours=6)
    for waiting in [step for step in procedure.steps if step.waits_for]:
        for starter in waiting.waits_for:
            meanwhile = [
                s.id
                for s in procedure.steps
                if order.before(starter, s.id) and order.before(s.id, waiting.id)
            ]
            assert len(meanwhile) >= 5


def test_some_work_goes_on_in_any_order(procedure: Procedure) -> None:
    order = Order(procedure)
    ids = [step.id for step in procedure.steps]
    assert any(not order.before(a, b) and not order.before(b, a) for a in ids for b in ids if a != b)


def test_connectors_hidden_hoses_and_open_ports_say_what_is_needed(procedure: Procedure) -> None:
    connectors = [item for item in procedure.items.values() if item.kind.called == "connector"]
    assert connectors
    assert all(item.releases and item.where for item in connectors)
    hoses = [item for item in procedure.items.values() if item.kind.called == "hose"]
    assert any("hidden behind" in (item.where or "") for item in hoses)
    assert any(item.protect for item in procedure.items.values() if item.kind.called == "port")


def test_it_leaves_something_to_look_after_later(procedure: Procedure) -> None:
    assert any(follow_up.distance_km for follow_up in procedure.follow_ups)
    assert all(follow_up.after for follow_up in procedure.follow_ups)


def test_what_is_said_is_short(procedure: Procedure) -> None:
    for step in procedure.steps:
        assert len(step.say.split()) <= 24, step.id
