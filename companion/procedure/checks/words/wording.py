"""Sentences that were left unfinished, say a word twice, or begin with the verb of another act."""

import re
from collections.abc import Iterator

from companion.procedure.fault import Fault, Path, Rule, advice
from companion.procedure.model import Act, Procedure, Step
from companion.procedure.order import Order

VERB = Rule(
    "verb-against-act",
    "The sentence begins with the verb of the contrary act.",
    "The mechanic takes off what the ledger believes is put on, or the reverse.",
    "Look what the step does, and correct the words or the act.",
)
FILLS = Rule(
    "tells-of-filling",
    "The words tell of filling, and no field does.",
    "It would be done with something open below.",
    "Give the step the act `fill`, or name what it fills in `circuits`.",
)
CUT_OFF = advice(
    "cut-off",
    "A sentence ends in the middle.",
    "What came behind it is lost.",
    "Write it to its end.",
)
DOUBLED = advice(
    "word-twice",
    "A word stands twice in a row.",
    "It sounds like a fault, and something may be missing between.",
    "Take one out.",
)
NO_QUESTION = advice(
    "no-question",
    "What is asked before an optional step is no question.",
    "Nobody knows that an answer is wanted.",
    "Write a question that yes or no answers.",
)
SAME_NAME = Rule(
    "same-name",
    "Two things go by the same name.",
    "The ledger says that it is open, and nobody knows which.",
    "Name them apart, as left and right.",
)
_ENDS = re.compile(r"\b(?:the|an?|and|or|of|with|from|until|between|at)[.]?\s*$", re.IGNORECASE)
_TWICE = re.compile(r"(?<!-)\b(?!that\b|had\b)([a-z]+) \1\b", re.IGNORECASE)
_OFF_VERB = re.compile(r"^(?:unplug|undo|unscrew|disconnect|drain the|remove|detach)\b", re.IGNORECASE)
_ON_VERB = re.compile(
    r"^(?:fit|refit|tighten|connect|reconnect|plug (?!the (?:\w+ )?(?:hole|port))[^.]*\bin|push [^.]* on"
    r"|screw [^.]* (?:on|in))\b",
    re.IGNORECASE,
)
_FILLS = re.compile(
    r"(?:^|[.;,] |\b(?:then|and) )(?:re)?fill (?:the|it|with|up|slowly)\b|\btop (?:it )?up\b", re.IGNORECASE
)
_SIDE = re.compile(r"^(?:left|right|front|rear) side\. ", re.IGNORECASE)


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's sentences, and names that are given twice."""
    for position, step in enumerate(procedure.steps):
        path: Path = ("steps", position)
        yield from _verbs((*path, "say"), procedure, step)
        for field, text in (("say", step.say), ("more", step.more or "")):
            if end := _ENDS.search(text):
                yield CUT_OFF.at((*path, field), f"ends with '{end[0].strip()}'; write it to its end")
            if twice := _TWICE.search(text):
                yield DOUBLED.at((*path, field), f"'{twice[0]}' has a word twice; take one out")
        if step.optional is not None and "?" not in step.optional:
            yield NO_QUESTION.at((*path, "optional"), "is no question; write one that yes or no answers")
    for section in ("items", "seals", "energy"):
        first: dict[str, str] = {}
        for id_, thing in getattr(procedure, section).items():
            kind = getattr(thing, "kind", "")
            name = f"{kind} {thing.name.lower().removeprefix('the ')}"
            if name in first and not re.search(r"-\d+$", id_):
                message = f"'{thing.name}' is the name of '{first[name]}' too; name them apart"
                yield SAME_NAME.at((section, id_, "name"), message)
            first.setdefault(name, id_)


def _verbs(path: Path, procedure: Procedure, step: Step) -> Iterator[Fault]:
    sentence = _SIDE.sub("", step.say)
    on = step.act in (Act.FIT, Act.CONNECT, Act.TIGHTEN) and not step.opens
    off = step.act in (Act.REMOVE, Act.DISCONNECT, Act.DRAIN)
    verb = (_OFF_VERB.search(sentence) if on else None) or (_ON_VERB.search(sentence) if off else None)
    if verb:
        yield VERB.at(path, f"begins with '{verb[0]}', and the act is {step.act}; one is wrong")
    fills = _FILLS.search(step.say)
    fluids = [name for name in step.closes if str(procedure.items[name].kind) == "fluid"]
    if fills and step.act is not Act.FILL and step.circuits is None and not fluids:
        said = fills[0].strip(" .,;")
        message = f"'{said}' tells of filling, and no field does; write `circuits` or `act: fill`"
        yield FILLS.at(path, message)
