"""Things written on one line read as the group of keys that they stand for; what is not known is refused."""

from typing import Any

import pytest

from companion.procedure.things import BenchPart, Energy, Fastener, Hazard, Item, Measure, Part, Seal


@pytest.mark.parametrize(
    ("line", "keys"),
    [
        ("2 × M6 hex 10, 8 N·m", {"what": "bolts", "count": 2, "thread": "M6", "hex": 10, "torque": "8 N·m"}),
        ("M8 x 1 hex 13", {"what": "bolt", "thread": "M8x1", "hex": 13}),
        ("6 x cover bolts M6 hex 10, 5 N·m + 9 N·m, class 8.8, in brass, grid 2 by 3, bag one, new",
         {"what": "cover bolts", "count": 6, "thread": "M6", "hex": 10, "stages": ["5 N·m", "9 N·m"],
          "class": "8.8", "material": "brass", "pattern": "grid 2 by 3", "bag": "bag one", "renew": True}),
        ("head bolts M10 E14, 40 N·m + 90°", {"what": "head bolts", "thread": "M10", "six_lobe": "E14",
                                              "stages": ["40 N·m", "90°"]}),
        ("4 × tray screws T30", {"what": "tray screws", "count": 4, "six_lobe": "T30"}),
        ("2 × float bowl screws PH2", {"what": "float bowl screws", "count": 2, "driver": "PH2"}),
        ("drain plug M14x1.5 square 8, 25 N·m",
         {"what": "drain plug", "thread": "M14x1.5", "driver": "square 8", "torque": "25 N·m"}),
        ("4 × flange bolts 1/4-20 UNC hex 7/16 in",
         {"what": "flange bolts", "count": 4, "thread": "1/4-20 UNC", "hex": "7/16 in"}),
        ("hose union G1/4 hex 19, 30 N·m",
         {"what": "hose union", "thread": "G1/4", "hex": 19, "torque": "30 N·m"}),
        ("guide pins socket 7", {"what": "guide pins", "socket_hex": 7}),
    ],
)  # fmt: skip
def test_fasteners(line: str, keys: dict[str, Any]) -> None:
    assert Fastener.model_validate(line) == Fastener.model_validate(keys)


@pytest.mark.parametrize(
    ("noun", "line", "keys"),
    [
        (Item, "air filter lid, panel, front left",
         {"name": "air filter lid", "kind": "panel", "where": "front left"}),
        (Item, "rocker cover, joint", {"name": "rocker cover", "kind": "joint"}),
        (BenchPart, "2 × copper washer, single use",
         {"name": "copper washer", "count": 2, "single_use": True}),
        (BenchPart, "air filter", {"name": "air filter"}),
        (Seal, "cover gasket, single, part gasket-new, joint cover",
         {"name": "cover gasket", "use": "single", "part": "gasket-new", "joint": "cover"}),
        (Measure, "smallest clearance, 0.15 to 0.25 mm",
         {"what": "smallest clearance", "unit": "mm", "at_least": 0.15, "at_most": 0.25}),
        (Measure, "oil pressure, at least 1.2 bar", {"what": "oil pressure", "unit": "bar", "at_least": 1.2}),
        (Measure, "charge, 480 to 520 g", {"what": "charge", "unit": "g", "at_least": 480, "at_most": 520}),
        (Energy, "the battery, battery, wait 3 min, between the two leads, at most 0.5 V",
         {"name": "the battery", "source": "battery", "wait": "3 min",
          "prove": {"what": "between the two leads", "unit": "V", "at_most": 0.5}}),
        (Energy, "petrol tap, petrol tap", {"name": "petrol tap", "source": "petrol tap"}),
        (Hazard, "CAUTION: Hot oil scalds. Wear gloves.",
         {"signal": "CAUTION", "hazard": "Hot oil scalds", "avoid": "Wear gloves."}),
    ],
)  # fmt: skip
def test_other_nouns(noun: type[Part], line: str, keys: dict[str, Any]) -> None:
    assert noun.model_validate(line) == noun.model_validate(keys)


@pytest.mark.parametrize(
    ("noun", "line"),
    [
        (Fastener, "2 × M6 hex 10, tight"),
        (Fastener, "2 × M6 hex 10, 8 ft"),
        (Fastener, "2 × M6 hex 10, class 8.7"),
        (Fastener, "2 × 10 bolts"),
        (Item, "lid"),
        (Item, "lid, pannel"),
        (BenchPart, "washer, single"),
        (Seal, "gasket, singel"),
        (Measure, "clearance, 0.2"),
        (Measure, "clearance, 0.2 to 0.3 furlongs"),
        (Energy, "the battery"),
        (Energy, "the battery, battery, wait 3 min, soon"),
        (Hazard, "Hot oil scalds."),
    ],
)
def test_what_is_not_known_is_refused_and_never_dropped(noun: type[Part], line: str) -> None:
    with pytest.raises(ValueError, match="is not understood; write it like"):
        noun.model_validate(line)


@pytest.mark.parametrize("noun", [Fastener, Item, BenchPart, Seal, Measure, Energy, Hazard])
@pytest.mark.parametrize("piece", ["1", "1/", "a, ", "M8 x ", "at most ", "1 "])
def test_a_line_that_is_too_long_is_refused_at_once(noun: type[Part], piece: str) -> None:
    with pytest.raises(ValueError, match="at most 600 characters"):
        noun.model_validate(piece * 100_000)
