"""The procedures that are tried: those that come along, a small one full of gates, and random ones."""

from pathlib import Path

from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure
from tests.benchmarks.safety.random_jobs import random_job

SHIPPED = Path(__file__).parents[3] / "procedures"


def procedures(random_ones: int = 0) -> list[Procedure]:
    """Those that come along, a small one full of gates, and so many random ones."""
    shipped = [read_procedure(path) for path in sorted(SHIPPED.glob("*.yaml"))]
    return [*shipped, Procedure.from_data(DENSE), *map(random_job, range(random_ones))]


DENSE = {
    "title": "Belt unit", "revision": "1", "applies_to": ["an invented vehicle"],
    "source_of_torques": "invented",
    "parts": {"ring": {"name": "ring", "single_use": True}},
    "consumables": {
        "glue": {"name": "glue", "product_class": "one-part", "clock_starts": "application",
                 "skin_over": "5 min", "full_cure": "40 min"},
    },
    "energy": {
        "battery": {"name": "battery", "source": "battery", "wait": "3 min",
                    "prove": {"what": "between the leads", "unit": "V", "at_most": 0.5}},
        "airbag": {"name": "airbag", "source": "airbag", "wait": "10 min"},
        "spring": {"name": "spring", "source": "stored spring"},
    },
    "items": {"cover": {"name": "cover", "kind": "panel"}, "plug": {"name": "plug", "kind": "connector"}},
    "seals": {"ring": {"name": "ring", "use": "single", "part": "ring", "joint": "cover"},
              "lip": {"name": "lip", "use": "inspect", "joint": "cover"}},
    "steps": [
        {"id": "off", "act": "isolate", "say": "Off.", "book": "1 min", "isolates": "battery",
         "state": "battery disconnected"},
        {"id": "safe", "act": "isolate", "say": "Safe.", "book": "1 min", "isolates": "airbag",
         "state": "airbag is safe", "after": []},
        {"id": "pin", "act": "isolate", "say": "Pin.", "book": "1 min", "isolates": "spring", "after": [],
         "state": "pin is in", "count": 2, "each": "turn"},
        {"id": "off-proved", "act": "verify", "say": "Measure.", "book": "1 min", "proves": "battery",
         "after": ["off"]},
        {"id": "safe-proved", "act": "verify", "say": "Look.", "book": "1 min", "proves": "airbag",
         "state": "lamp is dark", "after": ["safe", "off-proved"], "needs_isolated": ["battery"]},
        {"id": "pin-proved", "act": "verify", "say": "Pull.", "book": "1 min", "proves": "spring",
         "state": "pin holds", "after": ["pin"]},
        {"id": "unplug", "act": "disconnect", "say": "Unplug.", "book": "1 min", "opens": ["plug"],
         "needs_isolated": ["battery", "airbag"], "after": ["safe-proved"]},
        {"id": "cover-off", "act": "remove", "say": "Cover off.", "book": "1 min", "opens": ["cover"],
         "disturbs": ["ring", "lip"], "needs_isolated": ["spring", "airbag"],
         "after": ["pin-proved", "unplug"]},
        {"id": "extra", "act": "clean", "say": "Clean.", "book": "1 min", "optional": "Clean it?",
         "after": ["cover-off"]},
        {"id": "extra-look", "act": "inspect", "say": "Look.", "book": "1 min", "only_if": "extra",
         "measure": {"what": "gap", "unit": "mm", "at_least": 0.1, "at_most": 0.5}},
        {"id": "rings", "act": "fit", "say": "Rings.", "book": "1 min", "renews": ["ring", "lip"],
         "after": ["cover-off", "extra-look"]},
        {"id": "glue", "act": "apply", "say": "Glue.", "book": "1 min", "applies": {"consumable": "glue"}},
        {"id": "cover-on", "act": "tighten", "say": "Cover on.", "book": "1 min", "closes": ["cover"],
         "assembles": "glue", "needs_isolated": ["spring"],
         "fasteners": [{"what": "bolt", "thread": "M6", "hex": 10, "stages": ["4 N·m", "90°"],
                        "renew": True}]},
        {"id": "replug", "act": "connect", "say": "Plug in.", "book": "1 min", "closes": ["plug"],
         "needs_isolated": ["battery", "airbag"], "after": ["cover-off"]},
        {"id": "stand", "act": "wait", "say": "Let it stand.", "book": "5 min", "wait": "5 min",
         "after": ["replug", "cover-on"]},
        {"id": "unpin", "act": "restore", "say": "Pin out.", "book": "1 min", "restores": "spring",
         "state": "pin is out", "waits_for": ["glue"]},
        {"id": "armed", "act": "restore", "say": "Arm.", "book": "1 min", "restores": "airbag",
         "state": "airbag is armed"},
        {"id": "on", "act": "restore", "say": "On.", "book": "1 min", "restores": "battery",
         "state": "battery connected"},
    ],
    "follow_ups": [{"what": "Look again", "after": "3 days"}],
}  # fmt: skip
