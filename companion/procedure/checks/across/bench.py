"""Tools and new parts: those that are asked for against those that are laid out."""

import re
from collections.abc import Iterator

from companion.procedure.checks.words.text import content, head, quantities, stem
from companion.procedure.checks.words.torques import torques
from companion.procedure.fault import Fault, advice
from companion.procedure.model import Procedure
from companion.procedure.order import Order

NOT_LAID_OUT = advice(
    "tool-not-listed",
    "A step asks for a special tool that is not listed at the top.",
    "It is missed with the vehicle in the air.",
    "Add it to `tools` of the job.",
)
NOT_USED = advice(
    "tool-not-used",
    "A tool is listed and no step asks for it.",
    "Perhaps a step forgets it, or it is out of another job.",
    "Name it in the step that needs it, or take it out.",
)
WRENCH = advice(
    "wrench-too-small",
    "No torque wrench of the list reaches a torque of the job.",
    "It is tightened by feel.",
    "List a wrench that does, or look the torque up.",
)
NO_PART = advice(
    "part-not-listed",
    "A new part is asked for and not listed under `parts`.",
    "It is not on the bench when it is wanted.",
    "Add it to `parts`.",
)
PART_NOT_USED = advice(
    "part-not-used",
    "A part is listed and no step speaks of it.",
    "It is left on the bench.",
    "Say where it is fitted, or take it out.",
)
_COMMON_WORDS = (
    "spanner ratchet socket brush screwdriver hammer rag cloth bit key plier knife lamp glove glass bottle "
    "torch pen marker wrench extension bar pan hook block chock mallet towel mirror magnet tape hose meter"
)
_COMMON = frozenset(_COMMON_WORDS.split())
"""Nouns of tools that lie in every workshop, when nothing more special is said of them."""
_SPECIAL = re.compile(
    r"\b(?:dial gauge|micrometer|feeler gauges?|straight edge|volt ?meter|multimeter|thermometer|puller"
    r"|pressure gauge|pressure bleeder|vacuum pump|locking pin|scan tool|leak detector|slide hammer)\b",
    re.IGNORECASE,
)
_NEW = re.compile(
    r"\bnew (?P<what>(?:[^\W\d]+ ){0,2}?[^\W\d]+)"
    r"(?= (?:on|in|into|with|up|and|to|for|is|one|\d+)\b|[.,;:]|$)",
    re.IGNORECASE,
)


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Tools, then parts."""
    spoken = [content(f"{step.say} {step.more or ''}") for step in procedure.steps]
    words = frozenset().union(*spoken)
    if procedure.tools:
        yield from _tools(procedure, words)
        yield from _wrenches(procedure)
    if procedure.parts:
        yield from _parts(procedure, words)


def _tools(procedure: Procedure, words: frozenset[str]) -> Iterator[Fault]:
    listed = frozenset().union(*(content(tool) for tool in procedure.tools))
    asked = frozenset().union(*(content(tool) for step in procedure.steps for tool in step.tools))
    for position, step in enumerate(procedure.steps):
        for place, tool in enumerate(step.tools):
            special = content(tool) - _COMMON - {"long", "short", "small", "mm", "wire"}
            if special and not special & listed:
                message = f"'{tool}' is not among the `tools` of the job; add it"
                yield NOT_LAID_OUT.at(("steps", position, "tools", place), message)
    for position, step in enumerate(procedure.steps):
        for match in _SPECIAL.finditer(step.say):
            if not content(match[0]) & (listed | asked):
                message = f"'{match[0]}' is asked for and not among the `tools`; add it"
                yield NOT_LAID_OUT.at(("steps", position, "say"), message)
    for place, tool in enumerate(procedure.tools):
        nouns = {head(part) for part in re.split(r" and |, ", tool)}
        common = not content(tool) - _COMMON - {"mm", "long", "short"}
        if common or "torque" in content(tool) or nouns & (words | asked) or content(tool) & asked:
            continue
        yield NOT_USED.at(("tools", place), f"no step asks for '{tool}'; name it where it is needed")


def _wrenches(procedure: Procedure) -> Iterator[Fault]:
    wrenches = [tool for tool in procedure.tools if "torque" in tool.lower()]
    ends = [said.value for tool in wrenches for said in quantities(tool) if said.unit in ("N·m", "")]
    if not ends or len(ends) < 2:
        return
    for position, step in enumerate(procedure.steps):
        for place, bolt in enumerate(step.fasteners):
            for torque in torques((bolt,)):
                if not min(ends) <= torque <= max(ends):
                    message = f"no listed wrench reaches {torque:g} N·m; list one that does, or look it up"
                    yield WRENCH.at(("steps", position, "fasteners", place), message)


def _parts(procedure: Procedure, words: frozenset[str]) -> Iterator[Fault]:
    names = frozenset().union(*(content(part.name) for part in procedure.parts.values()))
    things = [seal.name for seal in procedure.seals.values()]
    things += [item.name for item in procedure.items.values()]
    things += [product.name for product in procedure.consumables.values()]
    own = frozenset().union(*map(content, things), words)
    for position, step in enumerate(procedure.steps):
        for match in _NEW.finditer(step.say) if not (step.only_if or step.optional) else ():
            noun = stem(match["what"].split()[-1])
            if noun not in names and noun not in ("one", "oil", "fluid", "mark"):
                message = f"'new {match['what']}' is asked for and not listed under `parts`; add it"
                yield NO_PART.at(("steps", position, "say"), message)
    sealed = {seal.part for seal in procedure.seals.values()}
    for id_, part in procedure.parts.items():
        if id_ not in sealed and not part.single_use and not content(part.name) & own:
            yield PART_NOT_USED.at(("parts", id_), f"no step speaks of '{part.name}'; say where it is fitted")
