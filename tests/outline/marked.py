"""Outlines with the fields of each line marked by hand, and how many of them a parser gets right.

A line of a file in `corpus/` is followed by a line `= act | thing | fields` for each deed that it tells of.
The marks were made before any parser had read them. A third is held out: reported, never tuned on.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from companion.outline.deed import Deed, Doing, Fastened
from companion.outline.lexicon import key, singular
from companion.outline.parse import deeds_of

CORPUS = Path(__file__).parent / "corpus"
HELD_OUT = 14
FIELDS = {
    "n": "count",
    "t": "thread",
    "hex": "size",
    "sock": "size",
    "lobe": "size",
    "drv": "size",
    "f": "fastener",
    "tq": "torque",
    "bag": "bag",
    "rel": "lets go",
    "at": "where",
    "of": "amount",
    "new": "renew",
    "seal": "seal",
}
"""A mark -> the field that it counts for."""


@dataclass(frozen=True)
class Mark:
    """What one deed ought to be."""

    line: int
    doing: Doing
    thing: str
    fields: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Marked:
    """An outline and its marks."""

    name: str
    text: str
    marks: tuple[Mark, ...]


@dataclass
class Score:
    """How many fields were right, wrong or missed, by field."""

    right: Counter[str] = field(default_factory=Counter)
    all: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    @property
    def share(self) -> float:
        """Of all fields marked or made up."""
        return sum(self.right.values()) / max(1, sum(self.all.values()))

    def count(self, name: str, right: bool, told: str) -> None:
        """Count one field."""
        self.all[name] += 1
        self.right[name] += right
        if not right:
            self.wrong.append(told)


def corpus(held_out: bool | None = None) -> Iterator[Marked]:
    """The tuned outlines, the held-out ones, or all of them."""
    files = sorted(CORPUS.glob("*.txt"), key=lambda path: sha256(path.stem.encode()).hexdigest())
    for place, path in enumerate(files):
        if held_out is None or held_out == (place < HELD_OUT):
            yield read(path.stem, path.read_text("utf-8"))


def read(name: str, text: str) -> Marked:
    """An outline with its marks taken out."""
    lines: list[str] = []
    marks: list[Mark] = []
    for row in text.splitlines():
        if not row.startswith("= "):
            lines.append(row)
            continue
        cells = [cell.strip() for cell in row[2:].split("|")]
        fields = dict(re.findall(r"(\w+)=(.*?)(?= \w+=|$)", cells[2])) if len(cells) > 2 else {}
        marks.append(Mark(len(lines), Doing(cells[0]), cells[1] if len(cells) > 1 else "", fields))
    return Marked(name, "\n".join(lines) + "\n", tuple(marks))


def score(outlines: Iterator[Marked] | Sequence[Marked]) -> Score:
    """How the parser does on them."""
    total = Score()
    for outline in outlines:
        _score_one(outline, deeds_of(outline.text), total)
    return total


def _score_one(outline: Marked, deeds: Sequence[Deed], total: Score) -> None:
    for line in sorted({mark.line for mark in outline.marks} | {deed.line for deed in deeds}):
        marks = [mark for mark in outline.marks if mark.line == line and mark.doing is not Doing.NOTE]
        told = [deed for deed in deeds if deed.line == line and deed.doing is not Doing.NOTE]
        for mark, deed in _paired(marks, told):
            _compare(outline, mark, deed, total)


def _paired(marks: list[Mark], deeds: list[Deed]) -> Iterator[tuple[Mark | None, Deed | None]]:
    """Each mark with the deed of its line that is likest, whichever is left with nothing."""
    rest = list(deeds)
    for mark in marks:
        best = max(rest, key=lambda deed: _likeness(mark, deed), default=None)
        if best is not None and _likeness(mark, best) > 0:
            rest.remove(best)
            yield mark, best
        else:
            yield mark, None
    for deed in rest:
        yield None, deed


def _likeness(mark: Mark, deed: Deed) -> int:
    words = set(key(mark.thing).split()) & set(key(deed.thing).split())
    return 2 * len(words) + (mark.doing is deed.doing)


def _compare(outline: Marked, mark: Mark | None, deed: Deed | None, total: Score) -> None:
    place = f"{outline.name}:{(mark or deed).line}"  # type: ignore[union-attr]
    if mark is None:
        assert deed is not None
        total.count("act", False, f"{place} made up: {deed.doing} {deed.thing}")
        return
    if deed is None:
        total.count("act", False, f"{place} missed: {mark.doing} {mark.thing}")
        for name in ["thing", *map(FIELDS.get, mark.fields)]:
            total.count(str(name), False, f"{place} missed with it: {name}")
        return
    total.count(
        "act", deed.doing is mark.doing, f"{place} act {deed.doing} of {deed.thing}, not {mark.doing}"
    )
    total.count("thing", _same_thing(mark, deed), f"{place} thing {deed.thing!r}, not {mark.thing!r}")
    told = _told(deed)
    for name, counts_for in FIELDS.items():
        want, got = mark.fields.get(name), told.get(name)
        if want is None and (
            got is None or name in ("f", "at", "rel", "bag") or (name == "n" and got == "1")
        ):
            continue  # What was marked loosely is not held against it.
        right = want is not None and got is not None and _same(name, want, got)
        total.count(counts_for, right, f"{place} {counts_for} {got!r}, not {want!r}")


def _same_thing(mark: Mark, deed: Deed) -> bool:
    if mark.doing is Doing.ISOLATE:
        pressures = ("compressed air", "line pressure", "hydraulic", "cooling pressure")
        return deed.thing == mark.thing or (mark.thing == "pressure" and deed.thing in pressures)
    return _figures(mark.thing) == _figures(deed.thing)


def _figures(text: str) -> str:
    for word, figure in zip(("two", "three", "four", "six"), "2346", strict=True):
        text = re.sub(rf"\b{word}\b", figure, text.lower())
    return key(text.replace("-", " "))


def _told(deed: Deed) -> dict[str, str]:
    first = deed.fastened[0] if deed.fastened else Fastened()
    found = {
        "n": first.count,
        "t": first.thread,
        "hex": first.hex,
        "sock": first.socket_hex,
        "lobe": first.six_lobe,
        "drv": first.driver,
        "f": first.what or None,
        "tq": f"{first.torque:g}" if first.torque is not None else None,
        "bag": first.bag,
        "rel": deed.releases,
        "at": deed.where,
        "of": f"{deed.amount:g}" if deed.amount is not None else None,
        "new": "yes" if first.renew else None,
        "seal": deed.seal,
    }
    return {name: str(value) for name, value in found.items() if value is not None}


def _same(name: str, want: str, got: str) -> bool:
    match name:
        case "f":
            return singular(want.rsplit(maxsplit=1)[-1]) == singular(got.rsplit(maxsplit=1)[-1])
        case "at":
            small = {"at", "in", "on", "of", "from", "off"}
            return set(_figures(want).split()) - small == set(_figures(got).split()) - small
        case "rel" | "seal":
            return _figures(want) == _figures(got)
        case "bag":
            return _figures(want).lower() == _figures(got).lower()
        case _:
            return want.lower() == got.lower()


def table(scores: dict[str, Score]) -> Iterator[str]:
    """A row a field, a column a part of the corpus."""
    names = [
        name
        for name in dict.fromkeys(["act", "thing", *FIELDS.values()])
        if any(s.all[name] for s in scores.values())
    ]
    yield "  ".join([f"{'field':10}", *(f"{part:>18}" for part in scores)])
    for name in names:
        cells = (
            f"{s.right[name]:4} of {s.all[name]:4} {100 * s.right[name] / max(1, s.all[name]):5.1f} %"
            for s in scores.values()
        )
        yield "  ".join([f"{name:10}", *cells])
    cells = (
        f"{sum(s.right.values()):4} of {sum(s.all.values()):4} {100 * s.share:5.1f} %"
        for s in scores.values()
    )
    yield "  ".join([f"{'all':10}", *cells])
