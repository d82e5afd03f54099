"""A procedure while it is drafted: its sections as plain data, ids that are free, and questions."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from companion.draft.words import fasteners_name
from companion.outline.deed import Deed, Fastened
from companion.outline.lexicon import rows, singular
from companion.procedure.fasteners.heads import KNOWN_DRIVERS, KNOWN_HEX, KNOWN_SIX_LOBE, KNOWN_SOCKET_HEX
from companion.procedure.fasteners.sizes import Size

Data = dict[str, Any]
Held = tuple[tuple[Fastened, str], ...]
"""The fasteners of one thing, each kind with what it is called."""
_KNOWN = (
    ("hex", KNOWN_HEX),
    ("socket_hex", KNOWN_SOCKET_HEX),
    ("six_lobe", KNOWN_SIX_LOBE),
    ("driver", KNOWN_DRIVERS),
)


@dataclass
class Sheet:
    """What is written so far."""

    data: Data = field(default_factory=dict)

    @property
    def steps(self) -> list[Data]:
        """The steps so far."""
        steps: list[Data] = self.data["steps"]
        return steps

    def add(self, step: Data) -> Data:
        """Add a step; its id is made its own."""
        step["id"] = _free(step["id"], {other["id"] for other in self.steps})
        self.steps.append(step)
        return step

    def id(self, wanted: str, section: str) -> str:
        """A free id in a section."""
        return _free(wanted, {*self.data[section]})

    def under(self, step: Data) -> Data:
        """The step under every isolation: never wrong, and sometimes more than is needed."""
        if self.data["energy"]:
            step["needs_isolated"] = [*self.data["energy"]]
        return step


def step_of(id_: str, act: str, say: str, minutes: float) -> Data:
    """The least that a step is."""
    return {"id": id_, "act": act, "say": say, "book": duration(max(1, round(minutes)))}


def ask(holder: Data, question: str, about: str, *, dangerous: bool = False) -> None:
    """Leave a question with a step or source."""
    mark = {"ask": question, "about": about, **({"dangerous": True} if dangerous else {})}
    holder.setdefault("review", []).append(mark)


def hazard(step: Data, what: str, avoid: str) -> None:
    """A caution on a step."""
    step.setdefault("hazards", []).append({"signal": "CAUTION", "hazard": what, "avoid": avoid})


def held_by(deed: Deed) -> Held:
    """The fasteners that were told of."""
    told = (one for one in deed.fastened if one.what or one.size or one.count)
    return tuple((one, fasteners_name(deed, one)) for one in told)


def fastener(one: Fastened, name: str, step: Data, *, going_in: bool) -> Data:
    """Fasteners as a step has them: their bag when they come out, their torque when they go in."""
    made: Data = {"what": name}
    if one.thread:
        made["thread"] = one.thread
    for key, known in _KNOWN:
        told = getattr(one, key)
        if told is None:
            continue
        size: Size | str = told
        if key in ("hex", "socket_hex"):
            size = Size.parse(told if "in" in told else float(told))
        if size in known:
            made[key] = written(size)
        elif not going_in:
            ask(step, f"Which tool fits the {name}? The outline says {told}.", "size")
    if one.count and one.count > 1:
        made["count"] = one.count
    if one.renew:
        made["renew"] = True
    return made | (_going_in(one) if going_in else _coming_out(one))


def _going_in(one: Fastened) -> Data:
    made: Data = {}
    if one.torque is not None and one.angle is not None:
        return {"stages": [f"{one.torque:g} N·m", f"{one.angle:g}°"]} | made
    return ({"torque": f"{one.torque:g} N·m"} if one.torque is not None else {}) | made


def _coming_out(one: Fastened) -> Data:
    if one.bag is None:
        return {}
    return {"bag": one.bag if " " in one.bag or len(one.bag) > 2 else f"bag {one.bag}"}


def ask_count(step: Data, held: Held) -> None:
    """Several fasteners of which nobody said how many."""
    for one, name in held:
        if one.count is None and not is_one(name):
            ask(step, f"How many {name} are there?", "count")


def is_one(name: str) -> bool:
    """Is the name in the singular?"""
    last = name.rsplit(maxsplit=1)[-1]
    return singular(last) == last


def written(size: Size | str) -> float | str:
    """As a person writes it: 10 and not 10.0."""
    told = size.written if isinstance(size, Size) else size
    return int(told) if isinstance(told, float) and told.is_integer() else told


def circuit_in(name: str) -> str | None:
    """The circuit that a name tells of."""
    plain = f" {name.lower()} "
    known = {**rows("things")["circuits"], **rows("things")["fluids"]}
    return next((circuit for word, circuit in known.items() if f" {word} " in plain), None)


def minutes_for(held: Sequence[tuple[Fastened, str]]) -> float:
    """A guess, to be corrected by the first job: a minute, and a third of one for each fastener."""
    return 1 + sum((one.count or 1) for one, _ in held) / 3


def duration(minutes: float) -> str:
    """As a file has it."""
    if minutes >= 60 and minutes % 60 == 0:
        return f"{minutes / 60:g} h"
    return f"{minutes:g} min" if minutes >= 1 else f"{minutes * 60:g} s"


def sentence(text: str) -> str:
    """With a capital and an end mark."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")


def _free(wanted: str, taken: set[str]) -> str:
    if wanted not in taken:
        return wanted
    return next(name for n in range(2, 1000) if (name := f"{wanted}-{n}") not in taken)
