"""What a file must say of what stays open and what is hidden; each fault of it is shown."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from companion.errors import ProcedureError
from companion.procedure.check import find_advice, find_faults
from companion.procedure.holds.circuits import acts_on
from companion.procedure.holds.holds import holds_of
from companion.procedure.model import Procedure
from companion.procedure.read import procedure_from_bytes, read_procedure
from tests.procedure.jobs import COVER_AND_CORE, PANELS, job, open_line, step

FaultsOf = Callable[..., list[str]]


def waits(procedure: Procedure) -> set[str]:
    """The steps that wait for anything."""
    holds = holds_of(procedure)
    return {step for found in (holds.buries, holds.presses) for step, openings in found.items() if openings}


def faults(procedure: Procedure) -> list[str]:
    return [f"{'.'.join(map(str, f.path))}: {f.message}" for f in find_faults(procedure)]


def test_words_without_their_field() -> None:
    procedure = open_line(
        step("run", "verify", say="Start the engine."), step("b", "verify", say="Bleed it.")
    )
    runs, bleeds = faults(procedure)
    assert runs.startswith("steps.6.say: tells of the engine running; write `runs_engine: true`, or `false`")
    assert bleeds.startswith("steps.7.say: tells of bleeding; write `circuits: [...]` with what is bled, or")


class TestAgainstTheOrder:
    WRONG = (
        step("cover-off", "remove", opens="cover"),
        step("core-out", "remove", opens="core"),
        step("cover-on", "fit", closes="cover"),
        step("core-in", "fit", closes="core"),
    )

    def test_the_order_is_taken_at_its_word_and_check_asks(self) -> None:
        procedure = job(PANELS, *self.WRONG)
        assert not waits(procedure)
        (fault,) = faults(procedure)
        assert fault.startswith(
            "items.core: 'cover-on' closes 'cover' before 'core-in' closes 'core', which "
        )
        assert fault.endswith("write what really hides it, such as `reached_through: []`")

    def test_what_the_file_says_against_its_own_order(self) -> None:
        said = {**PANELS, "core": {"kind": "part", "reached_through": ["cover"]}}
        (fault,) = faults(job(said, *self.WRONG))
        assert fault.startswith("items.core.reached_through.0: ")
        assert fault.endswith("close 'core' first, or take 'cover' out")

    def test_by_way_of_another(self) -> None:
        items = {
            "cover": {"kind": "panel"},
            "lid": {"kind": "panel"},
            "core": {"kind": "part", "reached_through": ["lid"]},
        }
        procedure = job(
            items,
            step("cover-off", "remove", opens="cover"),
            step("lid-off", "remove", opens="lid"),
            step("core-out", "remove", opens="core"),
            step("cover-on", "fit", closes="cover"),
            step("core-in", "fit", closes="core"),
            step("lid-on", "fit", closes="lid"),
        )
        found = faults(procedure)
        assert any(f.startswith("items.lid: 'cover-on' closes 'cover' before 'lid-on'") for f in found)
        assert any(f.startswith("items.lid: ") and "reached through 'lid'" in f for f in found)

    def test_filling_while_the_file_leaves_a_port_open(self) -> None:
        cap = {"kind": "port", "circuit": "oil", "reached_through": []}
        items = {"cap": cap, "oil": {"kind": "fluid", "circuit": "oil"}}
        steps = [
            step("drain", "drain", opens="oil"),
            step("cap-off", "remove", opens="cap"),
            step("fill", "fill", closes="oil", circuits=["oil"]),
            step("cap-on", "fit", closes="cap"),
        ]
        assert not waits(job(items, *steps))
        (fault,) = faults(job(items, *steps))
        assert fault == (
            "steps.2.id: acts on oil while 'cap' is open; close it first ('cap-on'), "
            "or write `leaves_open: [cap]` if it may be"
        )
        steps[2] = {**steps[2], "leaves_open": ["cap"]}
        assert not find_faults(job(items, *steps))

    def test_steps_that_wait_for_one_another_in_a_ring(self) -> None:
        """Each inner thing is hidden by its own cover, and each cover goes on before the other's thing."""
        items = {
            "cover": {"kind": "panel"},
            "core": {"kind": "part", "reached_through": ["cover"]},
            "lid": {"kind": "panel"},
            "valve": {"kind": "part", "reached_through": ["lid"]},
        }
        procedure = job(
            items,
            step("cover-off", "remove", opens="cover", after=[]),
            step("core-out", "remove", opens="core"),
            step("lid-off", "remove", opens="lid", after=[]),
            step("valve-out", "remove", opens="valve"),
            step("cover-on", "fit", closes="cover", after=["core-out"]),
            step("lid-on", "fit", closes="lid", after=["valve-out"]),
            step("core-in", "fit", closes="core", after=["core-out", "lid-on"]),
            step("valve-in", "fit", closes="valve", after=["valve-out", "cover-on"]),
        )
        assert not waits(procedure)
        found = faults(procedure)
        assert found
        assert all("and that in the end waits for this step" in fault for fault in found)


class TestFieldsThatCannotBeSo:
    @pytest.mark.parametrize(
        ("items", "more", "fault"),
        [
            ({"core": {"kind": "part", "reached_through": ["core"]}}, {}, "reached through itself"),
            ({"cover": {"kind": "panel", "reached_through": ["core"]}}, {}, "'core' is not surely open"),
            ({"core": {"kind": "part", "circuit": "oil"}}, {}, "a part lets nothing out"),
            ({}, {"circuits": ["oil"]}, "nothing is of the circuit 'oil'; write it as their `circuit`"),
            ({}, {"leaves_open": ["cover"]}, "this step closes 'cover'"),
            ({}, {"leaves_open": ["core"]}, "'core' is not open when this step is done"),
            ({}, {"act": "fill", "circuits": []}, "a filling step fills a circuit; name it"),
        ],
    )  # fmt: skip
    def test_is_a_fault(self, items: Any, more: Any, fault: str) -> None:
        steps = [*COVER_AND_CORE[:3], {**COVER_AND_CORE[3], **more}]
        found = faults(job({**PANELS, **items}, *steps))
        assert len(found) == 1, found
        assert fault in found[0]

    def test_a_circuit_written_wrongly_is_guessed_at(self) -> None:
        found = faults(open_line(step("more", "fill", circuits=["oli"])))
        assert found == ["steps.6.circuits.0: nothing is of the circuit 'oli'; did you mean 'oil'?"]

    def test_an_unknown_item(self, faults_of: FaultsOf) -> None:
        found = faults_of(
            (
                "  cover: {name: cover, kind: joint}",
                "  cover: {name: cover, kind: joint, reached_through: [plgu]}",
            )
        )
        assert any("'plgu' is not declared under `items`; did you mean 'plug'?" in fault for fault in found)
        found = faults_of(("    count: 6\n", "    count: 6\n    leaves_open: [plgu]\n"))
        assert any("'plgu' is not declared under `items`; did you mean 'plug'?" in fault for fault in found)

    def test_only_pressure_stands_in_a_circuit(self, faults_of: FaultsOf) -> None:
        (found,) = faults_of(("    source: battery\n", "    source: battery\n    circuit: oil\n"))
        assert "battery stands in no circuit" in found

    def test_a_circuit_that_no_step_acts_on_looks_odd(self) -> None:
        items = {**PANELS, "core": {"kind": "hose", "circuit": "fuel"}}
        (advice,) = find_advice(job(items, *COVER_AND_CORE))
        assert "no step fills, bleeds or runs 'fuel'" in advice.message


def test_a_procedure_kept_beside_a_log_is_asked_nothing_new(small: str, tmp_path: Path) -> None:
    """It was without fault when its job was begun; the gates listen to its words instead."""
    text = small.replace("say: Plug in.", "say: Plug in. Start the engine.")
    kept = procedure_from_bytes(text.encode(), Path("kept.yaml"))
    assert acts_on(kept, kept.step("plug-in")) == frozenset()
    (tmp_path / "new.yaml").write_text(text)
    with pytest.raises(ProcedureError) as caught:
        read_procedure(tmp_path / "new.yaml")
    assert any("tells of the engine running" in fault for fault in caught.value.faults)
