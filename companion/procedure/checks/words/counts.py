"""Counts that are said, against the count of the fasteners and of the act."""

import re
from collections.abc import Iterator
from itertools import combinations

from companion.procedure.checks.words.text import Quantity, head, quantities, stem
from companion.procedure.fault import Fault, Path, Rule, advice
from companion.procedure.model import Fastener, Procedure, Step
from companion.procedure.order import Order

SAID = Rule(
    "count-said",
    "Another number of fasteners is said than the field has.",
    "One is left over, or left loose: the companion counts by the field, the mechanic by the words.",
    "Count them on the vehicle or in the source, and write the same in both.",
)
TIMES = Rule(
    "times-said",
    "Another number of times is said than is counted.",
    "The act would be called done too early, or never.",
    "Look it up, and write the same in `say` and `count`.",
)
UNCOUNTED = advice(
    "times-not-counted",
    "The words say how many times, and nothing counts them.",
    "A bare 'done' would pass it.",
    "Write `count` and `each`, so that each is counted aloud.",
)
_SOME = re.compile(
    r"\b(?:last|other|remaining|corner|upper|lower|top|bottom|long|longer|short|front|rear|outer|inner|end|middle"
    r"|first|more|left|right)\b"
)
_TIMES = frozenset({"time", "stroke", "turn", "wipe", "squeeze", "push", "pump"})


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's counts."""
    for position, step in enumerate(procedure.steps):
        path: Path = ("steps", position)
        yield from _fasteners(path, step)
        yield from _times(path, step)


def _fasteners(path: Path, step: Step) -> Iterator[Fault]:
    for noun in {head(fastener.what) for fastener in step.fasteners}:
        mine = [fastener for fastener in step.fasteners if head(fastener.what) == noun]
        right = _sums(mine)
        for field, text in (("say", step.say), ("more", step.more or "")):
            for said in quantities(text):
                if said.unit or said.sized or noun not in said.following or noun in _TIMES:
                    continue
                most = max(right)
                part = field == "more" or _is_a_part(said, noun)
                wrong = said.value > most if part else said.value not in right
                if wrong and not _of_each(said, right):
                    counts = " and ".join(str(fastener.count) for fastener in mine)
                    message = f"'{said.shown}' is said of the {noun}s, and `count` is {counts}; one is wrong"
                    yield SAID.at((*path, field), message)


def _sums(fasteners: list[Fastener]) -> set[float]:
    """How many of them may be spoken of: of one kind, or of several together."""
    counts = [fastener.count for fastener in fasteners]
    return {
        float(sum(some)) for size in range(1, len(counts) + 1) for some in combinations(counts, min(size, 4))
    }


def _is_a_part(said: Quantity, noun: str) -> bool:
    """Are only some of them spoken of, as in "the last four bolts"?"""
    until_noun = re.split(rf"\b{noun}", said.text[said.end :].lower(), maxsplit=1)[0]
    return bool(_SOME.search(until_noun) or re.search(r"\b(?:last|other|first|leave) $", said.before[-8:]))


def _of_each(said: Quantity, right: set[float]) -> bool:
    """ "Five bolts each": so many on each of several."""
    each = re.search(r"\b(?:each|per|apiece|a side|every)\b", said.sentence)
    return bool(each) and any(said.value * many in right for many in range(2, 9))


def _times(path: Path, step: Step) -> Iterator[Fault]:
    told = _TIMES | ({stem(step.each.split()[-1])} if step.each else frozenset())
    for said in quantities(step.say):
        following = said.following[:1]
        if said.unit or not following or following[0] not in told:
            continue
        if step.count is None:
            if following[0] == "time" and said.value >= 3 and not step.runs_engine:
                yield UNCOUNTED.at(
                    (*path, "say"), f"'{said.shown} times' is said and not counted; write `count` and `each`"
                )
        elif said.value != step.count and following[0] in ("time", *map(stem, (step.each or "").split())):
            message = f"'{said.shown}' is said, and `count` is {step.count}; one is wrong"
            yield TIMES.at((*path, "say"), message)
