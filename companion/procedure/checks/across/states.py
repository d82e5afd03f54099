"""Spoken states: each true of its own step alone."""

import re
from collections.abc import Iterator, Mapping

from companion.procedure.fault import Fault, Rule
from companion.procedure.model import Procedure
from companion.procedure.order import Order

SAME = Rule(
    "same-state",
    "Two steps are confirmed by the same words.",
    "The words of the one pass the other, from habit or by an echo.",
    "Write what is true in this step alone.",
)
CONTRARY = Rule(
    "state-says-the-contrary",
    "The spoken state says the contrary of what the step does.",
    "It is confirmed by what must not be so.",
    "Write what can be seen when it is done.",
)
_MEANS: Mapping[str, tuple[str, str]] = {
    "battery": (
        r"\b(?:disconnected|off|loose|isolated|unplugged|removed|dead)\b",
        r"\b(?:connected|on|back|live)\b",
    ),
    "high voltage": (
        r"\b(?:off|out|open|disconnected|isolated|dead)\b",
        r"\b(?:connected|on|back|live|in)\b",
    ),
    "vehicle support": (r"\b(?:raised|supported|stands|lifted|up)\b", r"\b(?:ground|wheels|lowered|down)\b"),
}
"""Of a source: words for safe, words for back again."""


def _other_way(state: str, say: str) -> str:
    """The contrary of the state in the sentence: on for off, off for on."""
    for one, other in (("on", "off"), ("off", "on")):
        has = [bool(re.search(rf"\b{word}\b", text)) for text in (state, say) for word in (one, other)]
        if has == [True, False, False, True]:
            return other
    return ""


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's state."""
    first: dict[str, str] = {}
    for position, step in enumerate(procedure.steps):
        if step.state is None:
            continue
        said = " ".join(step.state.lower().split())
        path = ("steps", position, "state")
        if said in first:
            message = f"'{step.state}' is that of '{first[said]}' too; write what is true in this step alone"
            yield SAME.at(path, message)
        first.setdefault(said, step.id)
        other = _other_way(said, step.say.lower())
        if other and (step.isolates or step.restores):
            message = (
                f"'{step.state}' is to be said, and the sentence tells of '{other}'; write what is so then"
            )
            yield CONTRARY.at(path, message)
        for name, way in ((step.isolates, 0), (step.restores, 1)):
            words = _MEANS.get(str(procedure.energy[name].source)) if name else None
            if words and re.search(words[1 - way], said) and not re.search(words[way], said):
                done = ("isolates", "restores")[way]
                message = f"'{step.state}' is said where the step {done} '{name}'; write what is so then"
                yield CONTRARY.at(path, message)
