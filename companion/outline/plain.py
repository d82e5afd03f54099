"""A line made plain before it is parsed: one way to write numbers and units, misspelt words put right."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cache

from companion.outline.lexicon import known_words, one_of, rows, trade_words

_UNITS = {
    word: n
    for n, word in enumerate(
        (
            *(
                "one",
                "two",
                "three",
                "four",
                "five",
                "six",
                "seven",
                "eight",
                "nine",
                "ten",
                "eleven",
                "twelve",
            ),
            *("thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
        ),
        start=1,
    )
}
_TENS = dict(
    zip(
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"],
        range(20, 100, 10),
        strict=True,
    )
)
_UNIT_WORDS = "|".join(sorted(_UNITS, key=len, reverse=True))
_NUMBER_WORDS = (
    rf"(?:(?P<tens>{'|'.join(_TENS)})(?:[- ](?P<after>one|two|three|four|five"
    rf"|six|seven|eight|nine)\b)?|(?P<unit>{_UNIT_WORDS}))"
)
_SPELT = re.compile(rf"\b(?:(?P<hundred>a|one|two) hundred(?: and)? ?)?{_NUMBER_WORDS}\b(?:-(?=way|pin))?")
_ONE_IS_NO_NUMBER = re.compile(
    r"\b(?:the|top|bottom|new|old|left|right|other|this|that|long|short|upper"
    r"|lower|each|which|inner|outer|every|no|front|rear|last|first|first) $"
)
_PLURAL_SIZES = {
    f"{word}s" if not word.endswith("x") else f"{word}es": n for word, n in _UNITS.items() if n >= 6
}
"""A mechanic's "four eights" are four of eight millimetres."""
_PLURAL_SIZES |= {"sixes": 6, "sevens": 7, "fives": 5}
_LEAST_TYPO, _ALIKE = 5, 0.8


@dataclass(frozen=True)
class Plain:
    """A plain line, and how sure it is that this was meant."""

    text: str
    sure: float


_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅛": "1/8"}
_TAKEN_BACK = r",? (?:no|sorry|i mean|make that|or rather|correction)\b,? (?:it's |it is )?(?:an? )?"
_CORRECTED = (
    rf"\b\d+ \d+(?:s| mm)?{_TAKEN_BACK}(?=\d+ \d+(?:s| mm))|(?:\ban? )?\b\d+(?:s| mm)?{_TAKEN_BACK}(?=\d)"
)
"""A number that is taken back at once: "an eight, no, a ten"."""
_Into = str | Callable[[re.Match[str]], str]
_Rule = tuple[re.Pattern[str], _Into]
_RULES: tuple[_Rule, ...] = tuple(
    (re.compile(pattern), into)
    for pattern, into in (
        (r"[“”″]", '"'),
        (r"[‘’`]", "'"),
        (r"[×✕]", "x"),
        (r"(?<=\d),(?=\d\b)", "."),
        (r"\bn ?[·.*]? ?m\b|\bnewtons?[- ]?met(?:er|re)s?\b|\bnewtons?\b", "nm"),
        (r"(?<=\d)n[·.*-]?m\b", " nm"),
        (r"\b(?:ft|foot|feet)[ ./·-]*(?:lbs?|lbf|pounds?)\b|\b(?:lbs?|lbf|pounds?)[ ./·-]*(?:ft"
         r"|foot|feet)\b", "lbft"),
        (r"\b(?:in|inch)[ ./·-]*(?:lbs?|lbf|pounds?)\b|\b(?:lbs?|lbf|pounds?)[ ./·-]*(?:in|inch)\b", "lbin"),
        (r"(?<=\d)(?:ft|foot)[ ./·-]*lbs?\b", " lbft"),
        (r"\bk(?:gf?)?[ .·-]?m\b|\bkilos?\b(?= ?m\b)", "kgm"),
        (r"(?<=\d) ?(?:degrees?|degs?|°)(?!\w|c)", " deg"),
        (r"(?<=\d)(mm|mil|mill|mils)\b", r" \1"),
        (r"\bo[ -]?ring", "o-ring"),
        (r"\bpush[ -]?in\b", "push-in"),
        (r"\bmulti[ -]?plug", "multiplug"),
        (r"\b(\d+)x(?=[a-z]\d)", r"\1 x "),
        (r"\b(\d{1,2})x(\d{1,2}) ?mm\b", r"\1 x \2 mm"),
        (_CORRECTED, ""),
        (r"\b6[- ]?lobe\b", "torx"),
        (r"\be[ -]?torx(?: bit)?(?: socket)? ?e?(\d+)", r"e\1"),
        (r"\b(?:external|outside|female) (?:torx|six[- ]lobe) ?e?(\d+)", r"e\1"),
        (r"\b(?:torx|six[- ]lobe|star)(?: (?:bit|key|driver|socket|size|no\.?|number))? ?t?(\d+)", r"t\1"),
        (r"\bt ?-?(\d+)s?(?: (?:torx|six[- ]lobe|star))(?: (?:bit|key|driver|socket"
         r"|screws?))?", lambda m: f"t{m[1]}"),
        (r"\b(\d+) (?:torx|six[- ]lobe)\b", r"t\1"),
        (r"\bm ?-?(\d+(?:\.\d+)?)(?=\b|s\b|x)", r"m\1"),
        (r"(?<=\d)'s\b", "s"),
        (r"\(([^()]{1,14}\d[^()]{0,8}|\d[^()]{0,14})\) ?(?=[a-z])", r"\1 "),
        (r"\bpush[- ]?fit\b", "push-fit"),
        (r"\b(\d+)[- ](pin|way|pole|core|wire|phase)\b(?= (?:\w+ )?(?:plug|connector|socket"
         r"|multiplug|block))", r"\1-\2"),
        (r"(?<=\d)\"", " in"),
        (r"\b(\d+/\d+)[- ](?:inch|in\.?)(?!\w)", r"\1 in"),
        (r"\bno\.? ?(?=\d)", "no"),
        (r"\s*&\s*", " and "),
        (r"\bnear[- ]side\b", "nearside"),
        (r"\boff[- ]side\b", "offside"),
        (r"\s+", " "),
    )
)  # fmt: skip
_SHORT = sorted(map(re.escape, rows("words")["abbreviations"]), key=len, reverse=True)
_ABBREVIATED = re.compile(rf"(?<![\w/])(?:{'|'.join(_SHORT)})(?![\w/])\.?")
_GROUPS = {name.replace("-", " "): n for name, n in rows("words")["numbers"].items()}
_GROUPED = re.compile(one_of(_GROUPS))
_ASIDES = re.compile(one_of(rows("words")["asides"]))
_PLURALS = re.compile(one_of(_PLURAL_SIZES))


def plain(line: str) -> Plain:
    """The line in lower case, with numbers as figures, units one way, and misspelt words put right."""
    text = line.lower().strip()
    text = _ABBREVIATED.sub(
        lambda m: rows("words")["abbreviations"][
            m[0].rstrip(".") if m[0].rstrip(".") in rows("words")["abbreviations"] else m[0]
        ],
        text,
    )
    text, sure = _mended(text)
    text = _GROUPED.sub(lambda m: str(_GROUPS[m[0]]), text)
    text = _PLURALS.sub(lambda m: f"{_PLURAL_SIZES[m[0]]}s", text)
    text = _SPELT.sub(_figures, text)
    text = _ASIDES.sub(" ", text)
    for sign, written in _FRACTIONS.items():
        text = text.replace(sign, f" {written}")
    for pattern, into in _RULES:
        text = pattern.sub(into, text)
    return Plain(text.strip(), sure)


def _figures(match: re.Match[str]) -> str:
    if match[0] == "one" and _ONE_IS_NO_NUMBER.search(match.string[: match.start()]):
        return match[0]
    hundreds = {"a": 100, "one": 100, "two": 200}.get(match["hundred"] or "", 0)
    if match["tens"]:
        return str(hundreds + _TENS[match["tens"]] + _UNITS.get(match["after"] or "", 0))
    return str(hundreds + _UNITS[match["unit"]])


def _mended(text: str) -> tuple[str, float]:
    """Misspelt trade words put right; less sure for each."""
    sure = 1.0

    def mend(match: re.Match[str]) -> str:
        nonlocal sure
        meant = _meant(match[0])
        if meant != match[0]:
            sure *= 0.8
        return meant

    return re.sub(rf"[a-z]{{{_LEAST_TYPO},}}", mend, text), sure


@cache
def _meant(word: str) -> str:
    """The one trade word that this differs from by a letter; itself when it is known, or it is not clear."""
    known = known_words() | _UNITS.keys() | _TENS.keys()
    if (
        word in known
        or word.rstrip("s") in known
        or word in _OTHER
        or word in rows("things")["known"]["words"]
    ):
        return word
    near = [
        other
        for other in trade_words()
        if abs(len(other) - len(word)) <= 1 and other[0] == word[0] and len(other) >= _LEAST_TYPO - 1
    ]
    close = [other for other in near if _one_slip(word, other)]
    return (
        min(close, key=lambda other: (-SequenceMatcher(None, word, other).ratio(), other)) if close else word
    )


_OTHER = frozenset(rows("words")["everyday"])
"""Words that are near a trade word and mean something else."""


def _one_slip(word: str, other: str) -> bool:
    """Do they differ by one letter left out, put in, changed, or by two that changed places?"""
    if len(word) == len(other):
        differ = [n for n, (a, b) in enumerate(zip(word, other, strict=True)) if a != b]
        if len(differ) == 1:
            # Another last letter makes another word more often than a slip: "cover" and "covet".
            return len(word) > 5 and differ[0] != len(word) - 1
        return (
            len(differ) == 2
            and differ[1] == differ[0] + 1
            and word[differ[0]] == other[differ[1]]
            and word[differ[1]] == other[differ[0]]
        )
    short, long = sorted((word, other), key=len)
    if long.endswith(("s", "d")) and long[:-1] == short:
        return False
    return len(short) >= 4 and any(long[:n] + long[n + 1 :] == short for n in range(len(long)))
