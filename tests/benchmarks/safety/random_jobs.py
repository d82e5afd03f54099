"""Random jobs: things inside things, taken apart and put back in an order as loose as it may be.

Each has things inside each other, seals, products, isolations and choices, and circuits that are drained,
filled, bled and run. `check` passes every one, but for what it asks of words and hazards: no gate hangs on
those.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from companion.procedure.check import find_faults
from companion.procedure.model import Procedure

CIRCUITS = ("oil", "coolant")
KINDS = ("panel", "part", "fasteners", "connector", "support", "joint", "port", "hose", "joint", "port")
LEAKY = ("joint", "port", "hose")
TRIES = 60
_NO_GATE = {"no-hazard-told", "same-state", "isolated-for-nothing"}
"""Findings that no gate hangs on."""


@dataclass
class Thing:
    """Something opened, with what lies behind it."""

    id: str
    kind: str
    circuit: str | None
    behind: "list[Thing]" = field(default_factory=list)
    around: "Thing | None" = None

    def all(self) -> "Iterator[Thing]":
        yield self
        for thing in self.behind:
            yield from thing.all()


def random_job(seed: int) -> Procedure:
    """The job of a seed; always the same one, and without fault."""
    rng = random.Random(seed)
    for _ in range(TRIES):
        made = Procedure.from_data(_Maker(rng).job())
        if all(fault.rule.code in _NO_GATE for fault in find_faults(made)):
            return made
    raise AssertionError(f"no job without fault came of seed {seed}")


class _Maker:
    """Draws one job."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.steps: list[dict[str, Any]] = []
        self.things: list[Thing] = []
        self.parts: dict[str, Any] = {}
        self.seals: dict[str, Any] = {}
        self.isolations = [e for e in ("battery", "spring") if rng.random() < 0.5]
        self.pressure = rng.random() < 0.4
        self.said = rng.random() < 0.5
        """Does the file say what hides what, or is it told by the order?"""
        self.wet = [circuit for circuit in CIRCUITS if rng.random() < 0.6]
        self.capped: list[str] = []

    def job(self) -> dict[str, Any]:
        forest = [self._thing(f"t{n}", 0) for n in range(self.rng.randint(1, 3))]
        sources = [*self.isolations, *(["pressure"] if self.pressure else [])]
        for source in sources:
            self._step(f"{source}-off", "isolate", isolates=source, state=f"{source} is off")
            self._step(f"{source}-dead", "verify", proves=source, state=f"{source} is dead")
        for circuit in self.wet:
            if self.rng.random() < 0.4:
                self.capped.append(circuit)
                self.things.append(Thing(f"{circuit}-cap", "port", circuit))
                self._step(f"{circuit}-cap-off", "remove", opens=[f"{circuit}-cap"])
            self._step(f"drain-{circuit}", "drain", opens=[circuit])
        for thing in forest:
            self._take_apart(thing)
        for thing in self._shuffled(forest):
            self._put_back(thing)
        for circuit in self.wet:
            self._fill(circuit)
        # Whatever is still loose, or cures, is waited for before energy comes back.
        curing = [step["id"] for step in self.steps if "assembles" in step]
        waits = {"waits_for": curing} if curing else {}
        self._step("look-over", "inspect", [step["id"] for step in self.steps], **waits)
        for source in sources:
            self._step(f"{source}-on", "restore", restores=source, state=f"{source} is on")
        if self.rng.random() < 0.6:
            self._step("run", "verify", runs_engine=True)
        return self._data(sources)

    def _thing(self, id_: str, depth: int, around: Thing | None = None) -> Thing:
        kind = self.rng.choice(KINDS)
        named = kind in LEAKY and self.rng.random() < 0.7
        thing = Thing(id_, kind, self.rng.choice(CIRCUITS) if named else None, around=around)
        self.things.append(thing)
        if depth < 3:
            many = self.rng.choice((0, 1, 1, 2)) if depth else self.rng.randint(0, 2)
            thing.behind = [self._thing(f"{id_}{n}", depth + 1, thing) for n in range(many)]
        return thing

    def _step(self, id_: str, act: str, after: list[str] | None = None, **more: Any) -> str:
        """A step after these; after the one before it where none are given."""
        ordered = {} if after is None else {"after": list(dict.fromkeys(after))}
        self.steps.append({"id": id_, "act": act, "say": f"Do {id_}.", "book": "1 min", **ordered, **more})
        return id_

    def _isolated(self) -> dict[str, Any]:
        needed = [source for source in self.isolations if self.rng.random() < 0.4]
        return {"needs_isolated": needed} if needed else {}

    def _take_apart(self, thing: Thing) -> None:
        act = {"connector": "disconnect", "hose": "disconnect"}.get(thing.kind, "remove")
        more: dict[str, Any] = self._isolated()
        if thing.kind in LEAKY and self.rng.random() < 0.5:
            seal = f"{thing.id}-ring"
            self.parts[seal] = {"name": seal, "single_use": True}
            self.seals[seal] = {"name": seal, "use": "single", "part": seal, "joint": thing.id}
            more["disturbs"] = [seal]
        if not thing.behind and thing.around and not more and self.rng.random() < 0.3:
            more["optional"] = "While it is off: this too?"
        loose = thing.around is not None and self.rng.random() < 0.3
        after = [f"{thing.around.id}-off"] if thing.around and loose else None
        self._step(f"{thing.id}-off", act, after, opens=[thing.id], **more)
        for inner in thing.behind:
            self._take_apart(inner)
        if self.rng.random() < 0.2:
            self._step(f"{thing.id}-look", "inspect")

    def _put_back(self, thing: Thing) -> None:
        for inner in self._shuffled(thing.behind):
            self._put_back(inner)
        opener = next(step for step in self.steps if step["id"] == f"{thing.id}-off")
        more = {key: opener[key] for key in ("needs_isolated",) if key in opener}
        only_if = {"only_if": opener["id"]} if "optional" in opener else {}
        after = self._loosened([opener["id"], *(f"{inner.id}-on" for inner in thing.behind)])
        for seal in opener.get("disturbs", ()):
            if self.rng.random() < 0.5:
                more["renews"] = [seal]
            else:
                self._step(f"{seal}-in", "fit", after, renews=[seal], **only_if)
                after = None
        if thing.kind == "joint" and not only_if and self.rng.random() < 0.5:
            self._step(f"{thing.id}-glue", "apply", after, applies={"consumable": "glue"})
            after, more = None, {**more, "assembles": f"{thing.id}-glue"}
        act = {"connector": "connect", "hose": "connect", "fasteners": "tighten"}.get(thing.kind, "fit")
        if self.rng.random() < 0.1:
            more = {**more, "hazards": [_DANGER], "state": "it is on"}
        bolts = {"fasteners": [_bolt()]} if act == "tighten" or self.rng.random() < 0.2 else {}
        self._step(f"{thing.id}-on", act, after, closes=[thing.id], **bolts, **more, **only_if)
        if self.rng.random() < 0.15 and not only_if:
            self._step(f"{thing.id}-bolts", "tighten", fasteners=[_bolt()])

    def _loosened(self, needed: list[str]) -> list[str] | None:
        """What must come first and no more, or the whole file so far."""
        return needed if self.rng.random() < 0.5 else None

    def _fill(self, circuit: str) -> None:
        named: dict[str, Any] = (
            {} if self.wet == [circuit] and self.rng.random() < 0.5 else {"circuits": [circuit]}
        )
        if circuit in self.capped:
            named["leaves_open"] = [f"{circuit}-cap"]
        self._step(f"fill-{circuit}", "fill", closes=[circuit], **named)
        if self.rng.random() < 0.4:
            screw = Thing(f"{circuit}-screw", "port", circuit)
            self.things.append(screw)
            self._step(f"bleed-{circuit}", "fill", opens=[screw.id], **named)
            self._step(f"shut-{circuit}", "tighten", closes=[screw.id], fasteners=[_bolt()])
        if self.rng.random() < 0.3:
            self._step(f"top-up-{circuit}", "fill", **named)
        if circuit in self.capped:
            self._step(f"{circuit}-cap-on", "fit", closes=[f"{circuit}-cap"])

    def _shuffled(self, things: list[Thing]) -> list[Thing]:
        """Mostly last off, first on."""
        turned = things[::-1]
        if self.said and self.rng.random() < 0.4:
            self.rng.shuffle(turned)
        return turned

    def _data(self, sources: list[str]) -> dict[str, Any]:
        items: dict[str, Any] = {}
        for thing in self.things:
            item: dict[str, Any] = {"name": thing.id, "kind": thing.kind}
            if thing.circuit:
                item["circuit"] = thing.circuit
            if self.said or thing.id.endswith(("screw", "cap")):
                item["reached_through"] = [thing.around.id] if thing.around else []
            items[thing.id] = item
        for circuit in self.wet:
            items[circuit] = {"name": circuit, "kind": "fluid", "circuit": circuit, "reached_through": []}
        glued = any("applies" in step for step in self.steps)
        energy = {s: {"name": f"the {s}", "source": _SOURCES[s], "wait": "1 min"} for s in sources}
        return {
            "title": "A random job",
            "revision": "1",
            "applies_to": ["an invented vehicle"],
            "source_of_torques": "invented",
            "items": items,
            "parts": self.parts,
            "seals": self.seals,
            "energy": energy,
            "consumables": {"glue": _GLUE} if glued else {},
            "steps": self.steps,
        }


_SOURCES = {"battery": "battery", "spring": "stored spring", "pressure": "hydraulic"}
_DANGER = {"signal": "DANGER", "hazard": "It falls.", "avoid": "Hold it."}
_GLUE = {"name": "glue", "product_class": "one-part", "skin_over": "30 min", "full_cure": "1 h"}


def _bolt() -> dict[str, Any]:
    return {"what": "bolt", "thread": "M8", "hex": 13, "torque": "20 N·m"}
