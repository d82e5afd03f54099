"""Spoken numbers, measured values and lengths of time: a small grammar of whole utterances.

A value is only ever a proposal: the job reads it back and asks before it counts.
"""

import re
from collections.abc import Sequence
from decimal import Decimal
from difflib import SequenceMatcher

from companion.procedure.unit_table import MEASURED, SECONDS

# fmt: off
_ONES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)
_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80,
    "ninety": 90,
}
# fmt: on
_SMALL = {word: n for n, word in enumerate(_ONES)}
_PAIRS = dict(zip(_ONES[13:], list(_TENS)[1:], strict=True))
_TEEN_OR_TY = {**_PAIRS, **{ty: teen for teen, ty in _PAIRS.items()}}
_DIGITS = {**{word: n for word, n in _SMALL.items() if n < 10}, "oh": 0, "o": 0, "nought": 0}
_POINT = ("point", "dot", "decimal")
_MINUS = ("minus", "negative")
NUMBER_WORDS = (*_ONES, *_TENS, "point", "hundred", "minus")
"""Every word of a measured value but its unit."""

_FILLERS = {
    "it's",
    "its",
    "it is",
    "that's",
    "reads",
    "about",
    "the reading is",
    "reading",
    "i read",
    "i have",
}
_WORD = re.compile(r"\d+(?:[.,]\d+)?|[a-zµ']+|[°%ω]\s?[a-z]?|-(?=\d)", re.IGNORECASE)
_ONE_BY_ONE = re.compile(r"(?<![\d.,])\d(?:(?:\s+|,\s+|-)\d(?!\d))+")
"""Digits said one by one, as they are written down: "1-2.6", "9 0"."""
_APART_FROM_POINT = re.compile(r"(?<=\d)\s+\.(?=\d)")
_LIKE_A_UNIT = 0.7
_FRACTIONS = {"half": Decimal("0.5"), "quarter": Decimal("0.25")}


def parse_reading(text: str, unit: str | None = None) -> tuple[str, str] | None:
    """A measured value said whole, as (number, unit), such as ("12.6", "V"); None when it is not one.

    Args:
        unit: the unit that is wanted (a key of `MEASURED`). A bare number then counts as one in that unit. A
            value in another unit keeps its own, so that the job can refuse it aloud.
    """
    said = " ".join(spoken_words(digits_together(text)))
    for filler in sorted(_FILLERS, key=len, reverse=True):
        said = said.removeprefix(filler + " ")
    number = _number(said.split())
    if number is not None:
        return (_text(number), unit) if unit else None
    for name in sorted(_SPOKEN, key=lambda name: name != unit):  # "degrees" are of the wanted unit
        for word in _SPOKEN[name]:
            if said.endswith(" " + word) and (number := _number(said[: -len(word)].split())) is not None:
                return _text(number), name
    return _nearly(said, unit) if unit else None


def _as_heard(word: str) -> str:
    """As `spoken_words` leaves it: "l min" of "l/min"."""
    return " ".join(spoken_words(word)) or word


def _nearly(said: str, unit: str) -> tuple[str, str] | None:
    """A number and a word that sounds like the wanted unit: "twelve newton matrices"."""
    words = said.split()
    for length in (1, 2):
        number, tail = _number(words[:-length]), " ".join(words[-length:])
        near = (word for word in MEASURED[unit] if len(word) > 3 and len(word.split()) == length)
        if number is not None and any(
            SequenceMatcher(None, tail, word).ratio() >= _LIKE_A_UNIT for word in near
        ):
            return _text(number), unit
    return None


def misheard(text: str) -> list[str]:
    """The same with one "-teen" for "-ty" or the other way round, in lower case: the commonest mishearing."""
    words = text.lower().strip(" .!?,").split()
    return [
        " ".join([*words[:i], _TEEN_OR_TY[word], *words[i + 1 :]])
        for i, word in enumerate(words)
        if word in _TEEN_OR_TY
    ]


def parse_duration_words(text: str) -> str | None:
    """A length of time said whole ("an hour and a half", "90 minutes"), in minutes as text."""
    words = [w for w in spoken_words(text) if w != "for"]
    seconds = _seconds(words)
    return None if not seconds else _text(seconds / 60)


def _seconds(words: Sequence[str]) -> Decimal | None:
    said = " ".join(words)
    for name, size in (("hour", 3600), ("minute", 60)):
        if said in (f"half an {name}", f"half a {name}"):
            return Decimal(size) / 2
        if said in (f"quarter of an {name}", f"a quarter of an {name}"):
            return Decimal(size) / 4
        if said in (f"an {name} and a half", f"a {name} and a half", f"one {name} and a half"):
            return Decimal(size) * 3 / 2
    total, pending = Decimal(0), list[str]()
    for word in words:
        if word in SECONDS:
            number = _number(pending) if pending not in (["a"], ["an"]) else Decimal(1)
            if number is None:
                return None
            total, pending = total + number * SECONDS[word], []
        elif word != "and" or pending:
            pending.append(word)
    return total if not pending and total else None


def digits_together(text: str) -> str:
    """A number whose digits were said one by one, and written down so, as one: "1-2.6" is 12.6."""
    return _ONE_BY_ONE.sub(lambda found: re.sub(r"\D", "", found[0]), _APART_FROM_POINT.sub(".", text))


def spoken_words(text: str) -> list[str]:
    """The words and figures of a text, in lower case, without marks."""
    cleaned = text.lower().replace("’", "'").replace("·", "").replace("-", " -").strip(" .!?,")
    return [w.replace(",", ".").replace(" ", "") for w in _WORD.findall(cleaned)]


def _text(number: Decimal) -> str:
    plain = (
        f"{number:.6f}".rstrip("0").rstrip(".") if number != number.to_integral_value() else f"{number:.0f}"
    )
    return plain or "0"


def _number(words: Sequence[str]) -> Decimal | None:
    """The value of words that are one number and nothing else."""
    words = list(words)
    if words and words[0] in (*_MINUS, "-"):
        value = _number(words[1:])
        return None if value is None else -value
    if words[-3:] in (["and", "a", "half"], ["and", "a", "quarter"]):
        whole = _whole(words[:-3])
        return None if whole is None else whole + _FRACTIONS[words[-1]]
    point = next((i for i, word in enumerate(words) if word in _POINT), None)
    if point is None:
        if len(words) == 1 and re.fullmatch(r"\d+\.\d+", words[0]):
            return Decimal(words[0])
        return _whole(words)
    before = _whole(words[:point]) if point else Decimal(0)
    after = _decimals(words[point + 1 :])
    return None if before is None or after is None else before + Decimal(f"0.{after}")


def _decimals(words: Sequence[str]) -> str | None:
    """The digits after the point: "six five", or "sixty five" as people also say it, or "65"."""
    if not words:
        return None
    if all(word in _DIGITS for word in words):
        return "".join(str(_DIGITS[word]) for word in words)
    if all(word.isdigit() for word in words):
        return "".join(words)
    whole = _whole(words)
    return None if whole is None or whole >= 100 else str(whole)


def _whole(words: Sequence[str]) -> Decimal | None:
    """A whole number below a hundred thousand."""
    if not words:
        return None
    if len(words) == 1 and words[0].isdigit():
        return Decimal(words[0])
    if len(words) > 1 and all(word in _DIGITS for word in words):
        return Decimal("".join(str(_DIGITS[word]) for word in words))
    for name, size in (("thousand", 1000), ("hundred", 100)):
        if name in words:
            at = words.index(name)
            many = Decimal(1) if list(words[:at]) in ([], ["a"]) else _whole(words[:at])
            rest = words[at + 1 :]
            rest = rest[1:] if rest[:1] == ["and"] else rest
            fewer = _whole(rest) if rest else Decimal(0)
            if many is None or fewer is None or fewer >= size:
                return None
            return many * size + fewer
    return _below_hundred(words)


def _below_hundred(words: Sequence[str]) -> Decimal | None:
    match list(words):
        case [word] if word in _SMALL:
            return Decimal(_SMALL[word])
        case [word] if word in _DIGITS:
            return Decimal(_DIGITS[word])
        case [word] if word in _TENS:
            return Decimal(_TENS[word])
        case [tens, one] if tens in _TENS and 1 <= _DIGITS.get(one, 0) <= 9:
            return Decimal(_TENS[tens] + _DIGITS[one])
    return None


_SPOKEN = {name: tuple(dict.fromkeys(map(_as_heard, ways))) for name, ways in MEASURED.items()}
"""What a reading can be in, and every way it is said, as `spoken_words` leaves it."""
