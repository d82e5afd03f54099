"""Sides that are said, against those of the things that a step is about."""

import re
from collections.abc import Iterator

from companion.procedure.fault import Fault, Path, Rule
from companion.procedure.model import Procedure, Step
from companion.procedure.order import Order

SAID = Rule(
    "side-said",
    "Another side is said than that of what the step is about.",
    "The work is done on the wrong side, and the ledger believes it was done on the right one.",
    "Look which side is meant; correct the words or the names.",
)
PAIRS = (("left", "right"), ("front", "rear"), ("inner", "outer"), ("inlet", "outlet"))


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's sides; and those of items against where they are."""
    for position, step in enumerate(procedure.steps):
        about = _about(procedure, step)
        own = {"say": step.say, "where": step.where or ""}
        if step.measure:
            own["measure"] = step.measure.what
        for field, text in own.items():
            yield from _against(("steps", position, field), text, about or step.id)
            if about:
                yield from _against(("steps", position, field), text, step.id)
        yield from _against(("steps", position, "where"), own["where"], _places(procedure, step))
        for field in ("where", "measure"):
            if not about and field in own:
                yield from _against(("steps", position, field), own[field], step.say)
    for id_, item in procedure.items.items():
        yield from _against(("items", id_, "where"), item.where or "", f"{item.name} {id_}")
        yield from _against(("items", id_, "name"), item.name, id_)
    for id_, seal in procedure.seals.items():
        yield from _against(("seals", id_, "name"), seal.name, f"{id_} {seal.joint or ''}")


def _about(procedure: Procedure, step: Step) -> str:
    """The names of what it opens, closes, disturbs and renews."""
    items = [f"{name} {procedure.items[name].name}" for name in (*step.opens, *step.closes)]
    seals = [f"{name} {procedure.seals[name].name}" for name in (*step.disturbs, *step.renews)]
    return " ".join([*items, *seals, step.assembles or ""])


def _places(procedure: Procedure, step: Step) -> str:
    """Where its things are, and where its source was made safe."""
    items = [procedure.items[name].where or "" for name in (*step.opens, *step.closes)]
    source = step.restores or step.proves
    isolating = [one.where or "" for one in procedure.steps if source and one.isolates == source]
    return " ".join([*items, *isolating])


def only_side(text: str, pair: tuple[str, str]) -> str:
    """The one side of a pair that a text names; empty when it names none, or both."""
    words = set(re.findall(r"[a-z]+", text.lower()))
    found = [side for side in pair if side in words]
    return found[0] if len(found) == 1 else ""


def _against(path: Path, text: str, names: str) -> Iterator[Fault]:
    for pair in PAIRS:
        said, meant = only_side(text, pair), only_side(names, pair)
        if said and meant and said != meant and (pair == PAIRS[0] or path[-1] != "where"):
            yield SAID.at(path, f"tells of {said}, and what it is about is {meant}; look which is right")
