"""What may not be closed over, filled, bled or run while something is open; and how a file says so."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from companion.procedure.check import find_faults
from companion.procedure.holds.circuits import bleeds_by_its_words, runs_by_its_words
from companion.procedure.holds.holds import holds_of, leaves_loose
from companion.procedure.model import Act, Procedure, Step
from tests.procedure.jobs import CIRCUIT, COVER_AND_CORE, PANELS, job, open_line, step

Read = Callable[[str], Procedure]


def buried(procedure: Procedure) -> dict[str, set[str]]:
    """Step -> the items and loose steps that it would close over."""
    found = holds_of(procedure).buries
    return {step: {o.item or o.step for o in openings} for step, openings in found.items() if openings}


def pressed(procedure: Procedure) -> dict[str, set[str]]:
    found = holds_of(procedure).presses
    return {step: {o.item or o.step for o in openings} for step, openings in found.items() if openings}


class TestHiddenThings:
    def test_what_was_opened_before_is_closed_after(self) -> None:
        assert buried(job(PANELS, *COVER_AND_CORE)) == {"cover-on": {"core"}}

    def test_what_was_closed_again_before_hides_nothing(self) -> None:
        procedure = job(
            PANELS,
            step("cover-off", "remove", opens="cover"),
            step("cover-on", "fit", closes="cover"),
            step("core-out", "remove", opens="core"),
            step("core-in", "fit", closes="core"),
        )
        assert buried(procedure) == {}

    def test_what_is_opened_side_by_side_hides_nothing(self) -> None:
        procedure = job(
            PANELS,
            step("begin", "inspect"),
            step("cover-off", "remove", opens="cover", after=["begin"]),
            step("core-out", "remove", opens="core", after=["begin"]),
            step("core-in", "fit", closes="core", after=["core-out"]),
            step("cover-on", "fit", closes="cover", after=["cover-off"]),
        )
        assert buried(procedure) == {}
        assert not find_faults(procedure)

    def test_the_file_may_say_that_nothing_hides_it(self) -> None:
        said = {**PANELS, "core": {"kind": "part", "reached_through": []}}
        assert buried(job(said, *COVER_AND_CORE)) == {}

    def test_what_hides_the_hiding_thing_hides_it_too(self) -> None:
        items = {
            "tray": {"kind": "panel"},
            "cover": {"kind": "panel"},
            "core": {"kind": "part", "reached_through": ["cover"]},
        }
        procedure = job(
            items,
            step("tray-off", "remove", opens="tray"),
            *COVER_AND_CORE,
            step("tray-on", "fit", closes="tray"),
        )
        assert buried(procedure)["tray-on"] == {"cover", "core"}

    def test_a_second_round_is_looked_at_by_itself(self) -> None:
        again = [step(f"{s['id']}-again", s["act"], **_rest(s)) for s in COVER_AND_CORE]
        procedure = job(PANELS, *COVER_AND_CORE, *again)
        assert buried(procedure) == {"cover-on": {"core"}, "cover-on-again": {"core"}}
        assert not find_faults(procedure)


def _rest(of: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in of.items() if key in ("opens", "closes")}


CORE_OUT_AND_IN = """\
  - id: core-out
    act: remove
    say: Core out.
    book: 1 min
    opens: [core]
  - id: core-in
    act: fit
    say: Core in.
    book: 1 min
    closes: [core]
"""


class TestStepsThatBelongToAClosing:
    def test_the_seal_the_product_and_the_bolts_of_a_joint(self, small: str, read: Read) -> None:
        """In the small procedure the plug was opened before the cover: the cover is reached through it."""
        core = CORE_OUT_AND_IN
        text = small.replace("  plug: {", "  core: {name: core, kind: part}\n  plug: {")
        found = buried(read(text.replace("  - id: look\n", f"{core}  - id: look\n")))
        assert found["spread"] == found["cover-on"] == found["tighten"] == {"core"}
        assert found["plug-in"] == {"core", "cover", "tighten"}

    def test_a_plain_tightening_belongs_to_the_closing_before_it(self) -> None:
        procedure = job(PANELS, *COVER_AND_CORE, step("bolts", "tighten", torque="9 N·m"))
        assert buried(procedure)["bolts"] == {"core"}

    def test_a_plain_fitting_belongs_to_the_closing_after_it(self) -> None:
        steps = [*COVER_AND_CORE[:3], step("guide", "fit"), COVER_AND_CORE[3]]
        assert buried(job(PANELS, *steps))["guide"] == {"core"}

    @pytest.mark.parametrize("act", ["inspect", "clean", "verify"])
    def test_looking_and_cleaning_belong_to_none(self, act: str) -> None:
        steps = [*COVER_AND_CORE[:3], step("look", act), COVER_AND_CORE[3]]
        assert "look" not in buried(job(PANELS, *steps))


class TestCircuits:
    def test_a_filling_waits_for_its_own_circuit_alone(self) -> None:
        assert pressed(open_line()) == {}
        assert pressed(open_line(step("more", "fill", circuits=["oil"])))["more"] == {"oil"}

    def test_a_filling_that_names_none_waits_for_all_that_can_leak(self) -> None:
        assert pressed(open_line(step("more", "fill")))["more"] == {"line", "oil"}

    def test_an_item_that_names_none_holds_every_circuit(self) -> None:
        procedure = open_line(step("more", "fill", circuits=["oil"]), line={"kind": "hose"})
        assert "line" in pressed(procedure)["more"]

    def test_the_engine_waits_for_every_circuit_or_for_those_it_names(self) -> None:
        runs = step("run", "verify", runs_engine=True)
        assert pressed(open_line(runs))["run"] == {"line", "oil"}
        assert pressed(open_line({**runs, "circuits": ["fuel"]}))["run"] == {"line"}

    def test_a_top_up_left_out_holds_the_engine_back_and_no_other_filling(self) -> None:
        found = pressed(
            open_line(
                step("top-up", "fill", circuits=["oil"]),
                step("again", "fill", circuits=["oil"]),
                step("run", "verify", runs_engine=True),
            )
        )
        assert {"top-up", "again"} <= found["run"]
        assert "top-up" not in found["again"]

    @pytest.mark.parametrize(
        ("source", "waits"), [("fuel pressure", {"line"}), ("battery", set()), ("hydraulic", {"line"})]
    )
    def test_bringing_pressure_back_waits_for_its_circuit(self, source: str, waits: set[str]) -> None:
        circuit = {} if source == "battery" else {"circuit": "fuel"}
        energy = {"power": {"name": "power", "source": source, "wait": "1 min", **circuit}}
        procedure = job(
            CIRCUIT,
            step("off", "isolate", isolates="power", state="power off"),
            step("dead", "verify", proves="power", state="no power"),
            step("line-off", "disconnect", opens="line"),
            step("line-on", "connect", closes="line"),
            step("on", "restore", restores="power", state="power on"),
            energy=energy,
        )
        assert pressed(procedure).get("on", set()) == waits

    def test_which_kinds_can_leak(self) -> None:
        kinds = ("connector", "hose", "port", "joint", "fasteners", "panel", "part", "fluid", "support")
        leaking = set()
        for kind in kinds:
            steps = step("off", "remove", opens="it"), step("on", "fit", closes="it")
            found = pressed(job({"it": {"kind": kind}}, *steps, step("more", "fill")))
            leaking |= {kind} if found else set()
        assert leaking == {"hose", "port", "joint", "fluid"}


class TestWords:
    """Where a field is not written, the words of the step are listened to."""

    @pytest.mark.parametrize(
        "say",
        [
            "Bleed the left brake.",
            "Open the right bleed screw until the fluid comes clear.",
            "Start bleeding at the far end.",
            "Open the bleeder valve.",
        ],
    )
    def test_of_bleeding(self, say: str) -> None:
        assert bleeds_by_its_words(_saying(say))

    @pytest.mark.parametrize(
        "say",
        [
            "Close the right bleed screw. 8 N·m, and the dust cap on.",
            "Fit the thermostat with its bleed hole up.",
            "Take the bleed nipple out.",
            "Take the bleeder off.",
        ],
    )
    def test_of_a_bleed_screw_alone(self, say: str) -> None:
        assert not bleeds_by_its_words(_saying(say))

    @pytest.mark.parametrize(
        "say",
        [
            "Start the engine and let it idle for two minutes.",
            "Run the engine until the fan starts.",
            "Warm up the engine.",
            "With the engine running, look for leaks.",
            "Listen at idle.",
            "Start the car.",
            "Road test, ten minutes.",
        ],
    )
    def test_of_a_running_engine(self, say: str) -> None:
        assert runs_by_its_words(_saying(say))

    @pytest.mark.parametrize(
        "say",
        [
            "Leave the engine off for the oil to cool.",
            "Turn the engine two times by hand.",
            "Fill the engine with oil.",
            "Run a bead of sealant round the engine block.",
            "Spin the idler pulley. Engine off.",
        ],
    )
    def test_of_an_engine_that_stands_still(self, say: str) -> None:
        assert not runs_by_its_words(_saying(say))

    def test_the_words_hold_a_step_back_until_the_file_says_otherwise(self) -> None:
        run = step("run", "verify", say="Start the engine.")
        assert pressed(open_line(run))["run"] == {"line", "oil"}
        assert "run" not in pressed(open_line({**run, "runs_engine": False}))
        bleed = step("bleed", "verify", say="Bleed the line.")
        assert pressed(open_line(bleed))["bleed"] == {"line", "oil"}
        assert "bleed" not in pressed(open_line({**bleed, "circuits": []}))


def _saying(say: str) -> Step:
    return Step.model_validate({"id": "a", "act": "verify", "say": say, "book": "1 min"})


@pytest.mark.parametrize(
    ("more", "loose"),
    [
        ({"act": "tighten", "torque": "9 N·m"}, True),
        ({"act": "tighten", "torque": "9 N·m", "closes": ["core"]}, False),
        ({"act": "tighten", "torque": "9 N·m", "optional": "While it is off?"}, False),
        ({"act": "fill"}, True),
        ({"act": "fit"}, False),
        ({"act": "clean"}, False),
    ],
)
def test_what_is_loose_when_it_is_skipped(more: dict[str, Any], loose: bool) -> None:
    made = step("it", more.pop("act"), **more)
    assert leaves_loose(Step.model_validate(made)) is loose


def test_it_is_worked_out_once() -> None:
    procedure = job(PANELS, *COVER_AND_CORE)
    assert holds_of(procedure) is holds_of(procedure)
    assert procedure.step("core-in").act is Act.FIT
