"""Which circuits a step fills, bleeds, puts under pressure or runs: by its fields, else by its words."""

import re

from companion.procedure.model import Act, Item, Procedure, Step

Circuits = frozenset[str]
"""Names of circuits; an empty set is any of them."""

_SCREW = r"[ -]?(?:screw|nipple|valve)"
_BLEEDS = re.compile(
    rf"\bbleed(?:s|ing)?\b(?! ?-?(?:screw|nipple|valve|hole|port|plug|cap|hose|pipe|tube|bottle|kit)s?\b)"
    rf"|\bopen\b[^.;:]*\bbleed(?:er)?{_SCREW}",
    re.IGNORECASE,
)
"""The words for bleeding; a bleed screw alone is only a thing."""
_RUNS = re.compile(
    r"\b(?:start|run|rev|crank|warm|idle)(?:s|n?ing)?(?: up)? (?:the |its |your )?(?:engine|car|vehicle)\b"
    r"|\bengine (?:is |still )?(?:runs|running|idles|idling|idle|warms up|up to temperature)\b"
    r"|\b(?:at|let it|to) idle\b|\bidling\b"
    r"|\b(?:road|test)[ -](?:test|drive)\b|\bdrive the (?:car|vehicle|van)\b",
    re.IGNORECASE,
)


def bleeds_by_its_words(step: Step) -> bool:
    """Do the words of the step tell of bleeding?"""
    return bool(_BLEEDS.search(_words(step)))


def runs_by_its_words(step: Step) -> bool:
    """Do the words of the step tell of an engine that runs?"""
    return bool(_RUNS.search(_words(step)))


def _words(step: Step) -> str:
    return f"{step.say} {step.more or ''}"


def runs_engine(step: Step) -> bool:
    """Does the engine run in this step? Where the file does not say, its words do."""
    return runs_by_its_words(step) if step.runs_engine is None else step.runs_engine


def restores_pressure(procedure: Procedure, step: Step) -> bool:
    """Does the step bring back a pressure that stands in a circuit?"""
    return step.restores is not None and procedure.energy[step.restores].source.presses


def acts_on(procedure: Procedure, step: Step) -> Circuits | None:
    """The circuits that must be closed before this step; None when it acts on none.

    In doubt it is any: a step that names no circuit acts on all of them.
    """
    named = set(step.circuits or ())
    if restores_pressure(procedure, step) and (circuit := procedure.energy[step.restores or ""].circuit):
        named.add(circuit)
    unnamed = step.act is Act.FILL or runs_engine(step) or _bleeds(step)
    if unnamed and not step.circuits:
        return frozenset()
    if named or restores_pressure(procedure, step):
        return frozenset(named)
    return None


def _bleeds(step: Step) -> bool:
    return step.circuits is None and bleeds_by_its_words(step)


def lets_out(item: Item, circuits: Circuits) -> bool:
    """Does the item, while it is open, leave one of the circuits open?"""
    same = not circuits or item.circuit is None or item.circuit in circuits
    return item.kind.leaks and same
