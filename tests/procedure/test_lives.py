"""On what lives hang: told by the file, or by the words of a step."""

import pytest

from companion.procedure.check import find_faults
from companion.procedure.holds.lives import carries_lives
from tests.procedure.jobs import job, step


def hangs(name: str, kind: str = "part", **more: object) -> bool:
    """Do lives hang on putting back something of that name?"""
    steps = step("off", "remove", opens="it"), step("on", "fit", closes="it", **more)
    procedure = job({"it": {"name": name, "kind": kind}}, *steps)
    return carries_lives(procedure, procedure.step("on"))


@pytest.mark.parametrize(
    "name",
    ["left carrier", "brake pads", "front wheels", "wheel bearing", "track rod end", "lower ball joint",
     "steering column bolts", "right suspension strut", "coil spring", "drive shaft", "seat belt anchor"],
)  # fmt: skip
def test_brakes_steering_wheels_and_suspension(name: str) -> None:
    assert hangs(name)


@pytest.mark.parametrize(
    "name", ["oil strainer", "flywheel cover", "spring clip", "undertray", "air box lid"]
)
def test_other_things(name: str) -> None:
    assert not hangs(name)


def test_what_only_covers_or_measures() -> None:
    assert not hangs("left brake dust shield", "panel")
    assert not hangs("wheel speed sensor connector", "connector")


def test_what_is_in_the_brake_circuit() -> None:
    items = {"screw": {"name": "left bleed screw", "kind": "port", "circuit": "brake"}}
    procedure = job(items, step("open", "remove", opens="screw"), step("close", "fit", closes="screw"))
    assert carries_lives(procedure, procedure.step("close"))


def test_a_tightening_by_its_bolts() -> None:
    tighten = {"id": "tighten", "act": "tighten", "say": "Tighten all five.", "book": "1 min"}
    bolts = {"what": "wheel bolts", "thread": "M14", "hex": 17, "count": 5, "torque": "120 N·m"}
    procedure = job({}, {**tighten, "fasteners": [bolts]})
    assert carries_lives(procedure, procedure.step("tighten"))


def test_the_file_has_the_last_word() -> None:
    assert hangs("oil strainer", may_be_left_out=False)
    assert not hangs("wheel arch liner", may_be_left_out=True)


@pytest.mark.parametrize(
    ("step_id", "told"),
    [("off", "this step puts nothing back"), ("on", "a step with energy or DANGER is never left out")],
)
def test_what_the_field_cannot_say(step_id: str, told: str) -> None:
    danger = {"signal": "DANGER", "hazard": "It falls.", "avoid": "Hold it."}
    steps = (
        step("off", "remove", opens="core"),
        step("on", "fit", closes="core", hazards=[danger], state="it is in"),
    )
    said = [{**one, "may_be_left_out": True} if one["id"] == step_id else one for one in steps]
    found = find_faults(job({"core": {"kind": "part"}}, *said))
    assert any(told in fault.message for fault in found), found
