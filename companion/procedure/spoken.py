"""A sentence written for the screen, turned into one for the ear: no digits, no symbols left."""

import re
from collections.abc import Callable

from companion.procedure.numbers import SAYABLE, digits, fraction, number, ordinal, year
from companion.procedure.unit_table import UNITS

_THINGS = (
    "hex|hexagon|head|socket|spanner|wrench|key|bit|bolt|nut|stud|screw|drill|punch|hose|pipe|line|clip|bead|"
    "gap|plug|fuse|supply|battery|shim|washer|ring|ratchet|extension|wait|cure|feeler|blade|strip"
)
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip
_N = r"\d+(?:\.\d+)?"
_SYMBOLS = "|".join(sorted(map(re.escape, UNITS), key=len, reverse=True))
_UNIT = rf"(?:{_SYMBOLS})(?![\w°·])"
_NOT_IN_A_WORD = r"(?<![\w.])"


def _number(text: str) -> str:
    return number(text) if "." in text else digits(text)


def _quantity(match: re.Match[str]) -> str:
    """ "13 mm hex" is a thirteen millimetre hex; "13 mm" alone are thirteen millimetres."""
    unit = UNITS[match["unit"]]
    single = float(match["value"]) == 1 or match["thing"]
    return f"{_number(match['value'])} {unit.one if single else unit.many}"


def _date(match: re.Match[str]) -> str:
    months, day = int(match[2]), int(match[3])
    if not (1 <= months <= 12 and 1 <= day <= 31):
        return match[0]
    return f"the {ordinal(day)} of {_MONTHS[months - 1]} {year(int(match[1]))}"


def _clock(match: re.Match[str]) -> str:
    """ "14:05" as "fourteen oh five"; with "h" behind it, a length of time."""
    hours, minutes = int(match[1]), int(match[2])
    if match[3]:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    if minutes == 0:
        return f"{number(hours)} o'clock" if 0 < hours < 13 else f"{number(hours)} hundred"
    return f"{number(hours)} {'oh ' if minutes < 10 else ''}{number(minutes)}"


def _thread(match: re.Match[str]) -> str:
    by = f" by {_number(match[2])}" if match[2] else ""
    return f"M {_number(match[1])}{by}"


def _signal(match: re.Match[str]) -> str:
    return match[1].capitalize()


_Rule = tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]]
_RULES: tuple[_Rule, ...] = tuple(
    (re.compile(pattern), words)
    for pattern, words in (
        # What nobody says as a number goes first: the rules below would search it from each of its digits.
        (
            rf"\d{{{SAYABLE + 1},}}(?:\.\d+)?|\d{{1,{SAYABLE}}}\.\d{{{SAYABLE},}}",
            lambda m: f" {_number(m[0])} ",
        ),
        # writing
        (r"#(\d+)-(\d+)", r"number \1 by \2"),
        (r"(?<!\d)\"|[“”«»*_`#|\\^~]", " "),
        (r"[‘’]", "'"),
        (r"\b[Ee]\.g\.", "for example"),
        (r"\b[Ii]\.e\.", "that is"),
        (r"\b[Aa]pprox\.", "about"),
        (r"\betc\.", "and so on"),
        (r"…", "."),
        (r"\s[-–—]+\s|—", ", "),
        (r"\(|\)|\[|\]|\{|\}", ", "),
        (r"\b(DANGER|WARNING|CAUTION|NOTICE)\b", _signal),
        # whole figures that are not plain numbers
        (r"(?<!\d)(\d{4})-(\d\d)-(\d\d)(?!\d)", _date),
        (r"(?<![\d:.])(\d{1,2}):(\d\d)(?![\d:])( ?h\b)?", _clock),
        (r"(?<=\d),(?=\d{3}(?!\d))", ""),
        (rf"{_NOT_IN_A_WORD}(\d+) ?[x×] ?(?=M\d)", lambda m: f"{digits(m[1])} "),
        (rf"\bM({_N})(?:\s?[x×]\s?({_N}))?", _thread),
        (rf"{_NOT_IN_A_WORD}({_N}) ?(?:x|×) ?(?={_N})", r"\1 by "),
        (rf"{_NOT_IN_A_WORD}(\d+) ?(?:x|×)(?!\w)", lambda m: m[1] if m[1] == "1" else f"{m[1]} times"),
        (r"\b([GR]) ?(?=(?:\d+ )?\d+/\d)", r"\1 "),
        (r"(?:(?<=/\d)|(?<=/\d\d))-(?=\d+(?![\d/]))", " by "),
        (r"\b(UNC|UNF|UN|BSP|NPT)\b", lambda m: " ".join(m[1])),
        (r"\bDOT\b", "dot"),
        (r"\b(\d+)W-?(\d+)\b", lambda m: f"{digits(m[1])} W {digits(m[2])}"),
        (r"(?<=\d)(?:\"|″)|(?<=/\d)(?: in\b)|(?<=/\d\d)(?: in\b)|(?<=\d) in\b(?= (?:hex|socket))", " inch"),
        (r"(?<![\w./])(\d+) (?=\d+/\d+(?![\w/]))", r"\1 and "),
        (r"(?<![\w./])(\d+)/(\d+)(?![\w/])", lambda m: fraction(int(m[1]), int(m[2]))),
        (r"(?<!\w)(\d+)(?:st|nd|rd|th)\b", lambda m: ordinal(int(m[1]))),
        # signs
        (rf"(?<=\d) ?[-–] ?(?={_N})", " to "),
        (rf"({_UNIT}) ?– ?(?=\d)", r"\1 to "),
        (r"±", " plus or minus "),
        (r"(?<![\w.])[-−](?=\d)", " minus "),
        (r"≥|>=", " at least "),
        (r"≤|<=", " at most "),
        (r">", " more than "),
        (r"<", " less than "),
        (r"[≈]", " about "),
        (r"(?<=\w)\+(?=\s|$)", " plus"),
        (r"\+", " plus "),
        (r"=", " equals "),
        (r"&", " and "),
        (r"@", " at "),
        # quantities, then symbols and numbers alone
        (rf"(?P<value>{_N})[ -]?(?P<unit>{_UNIT})(?:(?=-? ?(?P<thing>(?:{_THINGS})s?\b))|)", _quantity),
        (r"\bN·m\b|\bNm\b|°C\b|[°%Ω]", lambda m: f" {UNITS[m[0]].many} "),
        (r"µ", " micro "),
        (r"[×·]", " "),
        (r"(?<=[^\W\d_])-?(\d{3,})(?![.\d])", lambda m: f" {' '.join(map(digits, m[1]))} "),
        (rf"(?<=[^\W\d])-?(?={_N})", " "),
        (_N, lambda m: f" {_number(m[0])} "),
        (r"(?<=\w)/(?=\w)", " "),
        (r"[/\\–−-](?!\w)|(?<!\w)[/–−-]|[/–−]", " "),
        # tidying
        (r"\s+", " "),
        (r" +(?=[,.;:!?])", ""),
        (r"(?:,\s*)+(?=[.;:!?,])", ""),
        (r"([.;:!?])\s*,", r"\1"),
        (r"^[ ,]+|[ ,]+$", ""),
    )
)


def for_the_ear(text: str) -> str:
    """Numbers, units, sizes, dates and signs in words: "M8, 25 N·m" as "M eight, twenty five newton metres".

    Doing it twice changes nothing. Words are left as they are.
    """
    for pattern, words in _RULES:
        text = pattern.sub(words, text)
    return text
