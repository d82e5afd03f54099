"""Nothing is found in what is correct: the shipped procedures, harmless edits of them, and usual sizes."""

import pytest

from companion.procedure.fault import Fault
from tests.procedure.slips.every import found_in, shipped
from tests.procedure.slips.harmless import EDITS, edited
from tests.procedure.slips.kinds import Data

USUAL = """
drain plug              | M14x1.5  | hex: 19         | 30
drain plug              | M14x1.5  | hex: 17         | 25
drain plug              | M12x1.5  | hex: 14         | 22
drain plug              | M16x1.5  | hex: 17         | 40
drain plug              | M18x1.5  | hex: 19         | 45
drain plug              | M22x1.5  | hex: 22         | 50
drain plug              | M14x1.5  | socket_hex: 8   | 30
filler plug             | M24x1.5  | socket_hex: 17  | 50
spark plugs             | M14x1.25 | hex: 16         | 25
spark plugs             | M14x1.25 | hex: 16         | 18
spark plugs             | M14x1.25 | hex: 21         | 28
spark plugs             | M12x1.25 | hex: 16         | 22
spark plugs             | M12x1.25 | hex: 14         | 18
spark plugs             | M10x1    | hex: 16         | 12
glow plugs              | M10x1    | hex: 10         | 15
glow plugs              | M8x1     | hex: 8          | 9
bleed screw             | M8x1.25  | hex: 10         | 8
bleed screw             | M8       | hex: 11         | 8
bleed screw             | M10x1    | hex: 11         | 10
brake pipe nuts         | M10x1    | hex: 11         | 14
brake pipe nuts         | M12x1    | hex: 13         | 17
hollow bolt             | M10x1    | hex: 14         | 25
hollow bolt             | M12x1.5  | hex: 17         | 30
hollow bolt             | M14x1.5  | hex: 19         | 40
wheel bolts             | M12x1.5  | hex: 17         | 110
wheel bolts             | M14x1.5  | hex: 17         | 120
wheel bolts             | M14x1.25 | hex: 17         | 140
wheel nuts              | M12x1.25 | hex: 19         | 100
wheel nuts              | M12x1.5  | hex: 21         | 108
hub nut                 | M24x1.5  | hex: 36         | 280
hub nut                 | M22x1.5  | hex: 32         | 235
sump bolts              | M6       | hex: 10         | 10
sump bolts              | M6       | hex: 8          | 9
cover bolts             | M6       | six_lobe: T30   | 10
cover bolts             | M6       | six_lobe: E8    | 10
cover screws            | M5       | six_lobe: T25   | 5
tray screws             | M6       | six_lobe: T30   | 4
tray screws             | M6       | hex: 10         | 3
bracket bolts           | M8       | hex: 13         | 22
bracket bolts           | M8       | hex: 12         | 25
bracket bolts           | M8       | socket_hex: 6   | 20
bracket bolts           | M8       | six_lobe: E10   | 24
bracket bolts           | M8       | six_lobe: T45   | 24
bracket bolts           | M8       | six_lobe: T40   | 20
mounting bolts          | M10      | hex: 16         | 45
mounting bolts          | M10      | hex: 17         | 50
mounting bolts          | M10      | hex: 15         | 55
mounting bolts          | M10      | hex: 13         | 40
mounting bolts          | M10x1.25 | hex: 14         | 50
mounting bolts          | M10      | six_lobe: E12   | 60
mounting bolts          | M10      | six_lobe: E14   | 60
subframe bolts          | M12      | hex: 18         | 90
subframe bolts          | M12x1.5  | hex: 18         | 100
subframe bolts          | M12      | hex: 19         | 85
subframe bolts          | M14      | hex: 21         | 150
subframe bolts          | M14x1.5  | hex: 22         | 160
carrier bolts           | M12x1.5  | hex: 18         | 105
guide pins              | M8       | socket_hex: 7   | 28
guide pins              | M9       | socket_hex: 7   | 28
cap screws              | M5       | socket_hex: 4   | 6
cap screws              | M6       | socket_hex: 5   | 10
cap screws              | M10      | socket_hex: 8   | 48
oil pressure sensor     | M10x1    | hex: 24         | 20
knock sensor            | M8       | hex: 13         | 20
clamp nut               | M6       | hex: 10         | 6
"""
SIZES = [tuple(cell.strip() for cell in line.split("|")) for line in USUAL.strip().splitlines()]


def codes(found: list[Fault]) -> list[str]:
    return [f"{fault.rule.code} {'.'.join(map(str, fault.path))}: {fault.message}" for fault in found]


@pytest.mark.parametrize("name", sorted(EDITS))
def test_a_harmless_edit_finds_nothing(name: str) -> None:
    for title, data in shipped().items():
        found = found_in(edited(data, EDITS[name]))
        assert not found, (title, codes(found))


def test_there_are_sixty_of_each() -> None:
    assert len(EDITS) >= 60
    assert len(SIZES) >= 60


def job(*steps: Data, **sections: Data) -> Data:
    return {
        "title": "A small job",
        "revision": "1",
        "applies_to": ["an invented machine"],
        "source_of_torques": "invented",
        **sections,
        "steps": list(steps),
    }


@pytest.mark.parametrize(("what", "thread", "drive", "torque"), SIZES)
def test_a_usual_size_and_torque_finds_nothing(what: str, thread: str, drive: str, torque: str) -> None:
    """Common practice, no source; each is met on vehicles."""
    field, _, size = drive.partition(": ")
    value: object = size if field == "six_lobe" else float(size)
    bolt = {"what": what, "thread": thread, field: value, "count": 1 if not what.endswith("s") else 4}
    found = found_in(
        job(
            {
                "id": "off",
                "act": "remove",
                "say": f"Take the {what} out and lift the flange off.",
                "book": "4 min",
                "fasteners": [bolt],
                "opens": ["flange"],
            },
            {
                "id": "on",
                "act": "tighten",
                "say": f"Put the flange on and tighten the {what} to {torque} N·m.",
                "book": "4 min",
                "fasteners": [{**bolt, "torque": f"{torque} N·m"}],
                "closes": ["flange"],
            },
            items={"flange": {"name": "flange", "kind": "panel"}},
        )
    )
    assert not found, codes(found)


def test_a_hub_nut_is_undone_on_the_lift_and_tightened_on_the_ground() -> None:
    nut = {"what": "hub nut", "thread": "M24x1.5", "hex": 36}
    danger = {"signal": "DANGER", "hazard": "a vehicle that slips crushes", "avoid": "nobody under it"}
    found = found_in(
        job(
            {
                "id": "up",
                "act": "isolate",
                "say": "Raise the vehicle on the lift.",
                "book": "4 min",
                "isolates": "support",
                "hazards": [danger],
                "state": "raised and supported",
            },
            {
                "id": "firm",
                "act": "verify",
                "say": "Push hard on each corner of the vehicle.",
                "book": "1 min",
                "proves": "support",
                "state": "lift holds firm",
            },
            {
                "id": "nut-off",
                "act": "remove",
                "say": "Undo the hub nut and push the drive shaft in.",
                "book": "4 min",
                "fasteners": [nut],
                "opens": ["shaft"],
                "needs_isolated": ["support"],
            },
            {
                "id": "nut-on",
                "act": "fit",
                "say": "Pull the drive shaft through and turn the hub nut on by hand.",
                "book": "4 min",
                "fasteners": [nut],
                "closes": ["shaft"],
                "needs_isolated": ["support"],
            },
            {
                "id": "down",
                "act": "restore",
                "say": "Lower the vehicle on to its wheels.",
                "book": "2 min",
                "restores": "support",
                "hazards": [{**danger, "hazard": "it comes down on whatever is under it"}],
                "state": "wheels on the ground",
            },
            {
                "id": "tight",
                "act": "tighten",
                "say": "Tighten the hub nut to 280 N·m.",
                "book": "2 min",
                "fasteners": [{**nut, "torque": "280 N·m"}],
            },
            energy={"support": {"name": "the vehicle on the lift", "source": "vehicle support"}},
            items={"shaft": {"name": "drive shaft", "kind": "part"}},
        )
    )
    assert not found, codes(found)
