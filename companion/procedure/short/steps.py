"""Ids from the words of a step, and book times guessed from its act and its fasteners."""

import re
from collections.abc import Mapping
from math import ceil
from typing import Any

from companion.procedure.short import shorthand
from companion.procedure.vocabulary.data_files import table
from companion.procedure.vocabulary.part import LONGEST

MOST = 200
"""Fasteners of one kind, as the model has it."""
_WORDS = 4
"""An id is of so many words at most."""
_ARTICLES = frozenset({"the", "a", "an", "your", "its"})
_WORD = re.compile(r"[a-z0-9]+")
_CLAUSE = re.compile(r"[.,;:!?](?:\s|$)")


def filled_in(data: Any) -> Any:
    """The data of a procedure, each step with an id and a book time. What is there stays as it is."""
    steps = data.get("steps") if isinstance(data, Mapping) else None
    if not isinstance(steps, list | tuple):
        return data
    taken = {step["id"] for step in steps if isinstance(step, Mapping) and isinstance(step.get("id"), str)}
    return {**data, "steps": [_step(step, taken, number) for number, step in enumerate(steps, start=1)]}


def _step(step: Any, taken: set[str], number: int) -> Any:
    if not isinstance(step, Mapping):
        return step
    filled = dict(step)
    if "id" not in step:
        filled = {"id": _free(_id(step.get("say"), number), taken), **filled}
    act = step.get("act")
    if "book" not in step and isinstance(act, str) and act in table("vocabulary", "acts"):
        filled |= {"book": f"{_minutes(step)} min", "book_estimated": True}
    return filled


def _id(say: Any, number: int) -> str:
    """ "Lift the lid off." is "lift-lid-off"."""
    words = _WORD.findall(_CLAUSE.split(say, maxsplit=1)[0].lower()) if isinstance(say, str) else []
    return "-".join([word for word in words if word not in _ARTICLES][:_WORDS]) or f"step-{number}"


def _free(id_: str, taken: set[str]) -> str:
    """The id, or with a number behind it where another step has it."""
    free, number = id_, 1
    while free in taken:
        number += 1
        free = f"{id_}-{number}"
    taken.add(free)
    return free


def _minutes(step: Mapping[str, Any]) -> int:
    times = table("vocabulary", "acts")[step["act"]]
    stages = sum(count * max(1, tightened) for count, tightened in _fasteners(step.get("fasteners")))
    length: float = times["alone"] + times["each"] * stages
    return ceil(length)


def _fasteners(written: Any) -> list[tuple[int, int]]:
    """How many fasteners of each kind, and in how many stages; nothing of what cannot be read."""
    found = []
    for one in written if isinstance(written, list | tuple) else [written] if written else []:
        try:
            keys = shorthand.fastener(one) if isinstance(one, str) and len(one) <= LONGEST else one
        except ValueError:
            continue
        if isinstance(keys, Mapping):
            count, stages = keys.get("count", 1), keys.get("stages") or ()
            known = isinstance(count, int) and isinstance(stages, list | tuple)
            found += [(max(0, min(count, MOST)), len(stages))] if known else []
    return found
