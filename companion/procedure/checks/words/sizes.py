"""Threads, drives and bags that are said, against those of the fasteners; tools for sizes that none has."""

import re
from collections.abc import Iterator

from companion.procedure.checks.words.text import quantities, same
from companion.procedure.fault import Fault, Path, Rule, advice
from companion.procedure.model import Procedure, Step
from companion.procedure.order import Order

THREAD = Rule(
    "thread-said",
    "Another thread is said than the field has.",
    "The wrong bolt is fetched, or the wrong torque trusted.",
    "Measure it, and write the same in both.",
)
HEAD = advice(
    "head-said",
    "Another size of head or tool is said than the field has.",
    "The wrong tool is fetched under the vehicle.",
    "Look at the head, and write the same in both.",
)
BAG = advice(
    "bag-said",
    "Another bag is said than the field has.",
    "The bolts are looked for in the wrong one.",
    "Write the same in both.",
)
_THREAD = re.compile(r"\bM\d+(?:\.\d+)?(?:x\d+(?:\.\d+)?)?\b")
_LOBE = re.compile(r"\b[TE]\d{1,3}\b")
_TOOL = re.compile(r"^[- ]?(?:hex|socket|spanner|wrench|key|ring|head|bit)")
_BAG = re.compile(r"\bbag (?P<name>\w+)")


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's sizes."""
    for position, step in enumerate(procedure.steps):
        if step.fasteners:
            path: Path = ("steps", position)
            yield from _names((*path, "say"), step)
            yield from _sizes((*path, "say"), step, step.say)
            for place, tool in enumerate(step.tools):
                yield from _sizes((*path, "tools", place), step, tool)
            yield from _bags((*path, "say"), step)


def _names(path: Path, step: Step) -> Iterator[Fault]:
    for pattern, field, rule in ((_THREAD, "thread", THREAD), (_LOBE, "six_lobe", HEAD)):
        kept = {str(size) for bolt in step.fasteners if (size := getattr(bolt, field)) is not None}
        for match in pattern.finditer(step.say):
            if kept and match[0] not in kept:
                message = f"'{match[0]}' is said, and `{field}` is {', '.join(sorted(kept))}; one is wrong"
                yield rule.at(path, message)


def _sizes(path: Path, step: Step, text: str) -> Iterator[Fault]:
    kept = [
        float(size) for bolt in step.fasteners for size in (bolt.hex, bolt.socket_hex) if size is not None
    ]
    for said in quantities(text):
        is_tool = said.unit == "mm" and _TOOL.search(said.text[said.end :].lower())
        if kept and is_tool and not any(same(said.value, size) for size in kept):
            shown = ", ".join(f"{size:g}" for size in sorted(set(kept)))
            message = f"'{said.shown}' is said, and the heads of this step are {shown} mm; one is wrong"
            yield HEAD.at(path, message)


def _bags(path: Path, step: Step) -> Iterator[Fault]:
    kept = [bolt.bag.lower() for bolt in step.fasteners if bolt.bag]
    for match in _BAG.finditer(step.say.lower()):
        if kept and not any(match["name"] in bag.split() for bag in kept):
            yield BAG.at(path, f"'{match[0]}' is said, and `bag` is '{kept[0]}'; one is wrong")
