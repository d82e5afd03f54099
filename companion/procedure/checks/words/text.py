"""Numbers, units and nouns in a sentence that was written to be heard."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from companion.procedure.unit_table import TABLE

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
)
_ONES += "seventeen eighteen nineteen"
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
_VALUES = {word: float(n) for n, word in enumerate(_ONES.split())}
_VALUES |= {word: 10.0 * n for n, word in enumerate(_TENS.split(), start=2)}
_VALUES |= {"both": 2.0, "a dozen": 12.0, "a hundred": 100.0, "one hundred": 100.0}
_SMALL = "|".join(sorted(_VALUES, key=len, reverse=True))
_TEN_AND_ONE = rf"(?:{'|'.join(_TENS.split())})[ -](?:{'|'.join(_ONES.split()[1:10])})"
_WORDS = rf"(?:one|a) hundred(?: (?:and )?(?:{_SMALL}))?|{_TEN_AND_ONE}|{_SMALL}"
FOREIGN = {"lbf·ft": 1.3558179483314004, "lbf·in": 0.1129848290276167, "kgf·m": 9.80665}
"""Units of torque that are not newton metres: N·m in each. NIST SP 811."""
_ALSO = {
    "lbf·ft": (
        "lbf ft",
        "lb ft",
        "lb-ft",
        "lbs ft",
        "ft lb",
        "ft-lb",
        "ft lbs",
        "ft-lbs",
        "foot pounds",
        "foot pound",
    ),
    "lbf·in": ("lbf in", "in lb", "in-lb", "in lbs", "in-lbs", "inch pounds"),
    "kgf·m": ("kgf m", "kgm", "kg m", "kp·m", "kpm"),
}
_CASED = 2
"""A unit this short is told by its case, and stands behind digits: 5 V, 3 m."""


def _spelt() -> dict[str, str]:
    found = {way: unit for unit, ways in _ALSO.items() for way in (unit, *ways)}
    for unit in TABLE:
        for way in (*unit.symbols, unit.one, unit.many, *unit.heard):
            found.setdefault(way, unit.symbol)
    return found | dict.fromkeys(("°", "deg", "degree", "degrees"), "°")


_UNITS = _spelt()
_LOWER = {way.lower(): unit for way, unit in _UNITS.items() if len(way) > _CASED}
_UNIT = "|".join(re.escape(way) for way in sorted(_UNITS, key=len, reverse=True))
_QUANTITY = re.compile(
    rf"(?<![\w.,/-])(?P<value>\d+(?:[.,]\d+)?|{_WORDS})(?P<point> point (?:(?:{_SMALL}) ?)+)?"
    rf"(?:[ -]?(?P<unit>{_UNIT})(?![\w°·]))?(?!\w|[./]\d|:\d)",
    re.IGNORECASE,
)
_NAMES = re.compile(r"\b(?:M\d+(?:\.\d+)?(?:x\d+(?:\.\d+)?)?|[TE]\d+|DOT ?\d|\d+W-?\d+|\d+/\d+)\b")
"""Sizes and grades, whose figures are no quantities."""
_WORD = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*")
_EMPTY_WORDS = (
    "a an the it its of on in into at to from for with and or then that this these those all both each every "
    "one two three four five six seven eight nine ten is are be off out up down by until as not no your you "
    "first last left right new old them they there where which so if when while again once"
)
_EMPTY = frozenset(_EMPTY_WORDS.split())
"""Words that tell nothing of what a sentence is about."""


@dataclass(frozen=True)
class Quantity:
    """A number in a text, with its unit."""

    value: float
    unit: str
    """The symbol; empty for a bare number."""
    start: int
    end: int
    text: str
    """The text it stands in, with sizes and grades blanked out."""

    @property
    def following(self) -> list[str]:
        """The stems of the next words of its clause."""
        clause = re.split(r"[.,;:!?]| (?:and|then|or) ", self.text[self.end :], maxsplit=1)[0]
        return [stem(word) for word in _WORD.findall(clause)[:3]]

    @property
    def sized(self) -> bool:
        """Does a size follow, as in "two M8 screws"?"""
        return self.text[self.end : self.end + 2] == " _"

    @property
    def before(self) -> str:
        """What stands before it in its sentence, in small letters."""
        return re.split(r"[.;:!?](?=\s)", self.text[: self.start])[-1].lower()

    @property
    def sentence(self) -> str:
        """The whole sentence, in small letters."""
        after = re.split(r"[.;:!?](?=\s|$)", self.text[self.end :], maxsplit=1)[0].lower()
        return self.before + self.text[self.start : self.end].lower() + after

    @property
    def shown(self) -> str:
        """As it is written."""
        return self.text[self.start : self.end].strip()


@cache
def quantities(text: str) -> tuple[Quantity, ...]:
    """Every number of a text, in figures or words."""
    blanked = _NAMES.sub(lambda match: "_" * len(match[0]), text)
    return tuple(_quantities(blanked))


def _quantities(text: str) -> Iterator[Quantity]:
    for match in _QUANTITY.finditer(text):
        digits = match["value"][0].isdigit()
        value = float(match["value"].replace(",", ".")) if digits else _value(match["value"])
        if match["point"]:
            value += float("0." + "".join(f"{_value(w):g}" for w in match["point"].split()[1:]))
        unit, end = match["unit"] or "", match.end()
        if unit and len(unit) <= _CASED and (not digits or unit not in _UNITS):
            unit, end = "", match.start("unit")
        yield Quantity(value, _symbol(unit), match.start(), end, text)


def _symbol(unit: str) -> str:
    return _UNITS.get(unit) or _LOWER.get(unit.lower(), "")


def _value(words: str) -> float:
    total = 0.0
    known = words.lower()
    for word in ("one hundred", "a hundred", "a dozen"):
        if known.startswith(word):
            total, known = _VALUES[word], known.removeprefix(word)
    return total + sum(_VALUES.get(word, 0.0) for word in re.split(r"[ -]", known))


def stem(word: str) -> str:
    """A word in small letters, without the s of its plural."""
    lower = word.lower()
    return lower[:-1] if len(lower) > 3 and lower.endswith("s") and not lower.endswith("ss") else lower


@cache
def content(text: str) -> frozenset[str]:
    """The stems of the words that tell what a text is about."""
    parts = (part for word in _WORD.findall(text) for part in (word, *word.split("-")))
    return frozenset(stem(part) for part in parts) - _EMPTY


@cache
def head(name: str) -> str:
    """The stem of the noun of a name: "bolt" of "sump bolts", "pair" not: "washer" of "pair of washers"."""
    noun = re.sub(r"^(?:set|pair|tube|bottle|can)s? of ", "", name.lower())
    noun = re.split(r" (?:of|with|for|in|from|behind|to|under|on) ", noun)[0]
    words = _WORD.findall(noun)
    return stem(words[-1]) if words else ""


def same(one: float, other: float) -> bool:
    """The same number, but for rounding."""
    return abs(one - other) <= 0.006 * max(abs(one), abs(other), 1e-9)
