"""Numbers that are no sizes: how many, how tight, how much, how long, which bag; and what holds and seals."""

import re

from companion.outline import sizes
from companion.outline.details import GAP, HEXES, KEYED, Details, Rule, rule
from companion.outline.kinds import kind_of
from companion.outline.lexicon import one_of, singular, words

NEWTON_METRES = {"nm": 1.0, "lbft": 1.3558179483314004, "lbin": 0.1129848290276167, "kgm": 9.80665}
"""NIST SP 811, appendix B.8."""
LITRES = {
    **dict.fromkeys(("l", "lt", "ltr", "ltrs", "litre", "litres", "liter", "liters"), 1.0),
    **dict.fromkeys(("ml", "cc"), 0.001),
    **dict.fromkeys(("pint", "pints"), 0.56826125),
    **dict.fromkeys(("quart", "quarts"), 0.946352946),
}
"""NIST SP 811; a pint is the imperial one, a quart that of the US."""
_MINUTES = {"h": 60.0, "m": 1.0, "s": 1 / 60}
_SIDES = frozenset(words("words", "sides"))
_MOST = 200
_N = r"(\d+(?:\.\d+)?)"


def _bag(d: Details, m: re.Match[str]) -> None:
    container = m["in"]
    d.bag = d.bag or (m["name"] if container.startswith("bag") else f"{container} {m['name']}")


def _container(d: Details, m: re.Match[str]) -> None:
    d.bag = d.bag or m["in"]


def _time(d: Details, m: re.Match[str]) -> None:
    d.minutes = round(float(m[1]) * _MINUTES[m["unit"][0]], 2)


def _time_in_words(d: Details, m: re.Match[str]) -> None:
    d.minutes = (0.5 if m[1] == "half an" else 1.0) * _MINUTES[m[2][0]]


def _torque(d: Details, m: re.Match[str]) -> None:
    """A range is no torque to tighten to."""
    if m["to"]:
        return
    d.torque = round(float(m["n"]) * NEWTON_METRES[m["unit"]], 1)
    if m["unit"] != "nm":
        d.sure["torque"] = 0.9


def _torque_without_unit(d: Details, m: re.Match[str]) -> bool | None:
    if d.torque is not None:
        return False
    d.torque, d.sure["torque"] = float(m[1]), 0.7
    return None


def _angle(d: Details, m: re.Match[str]) -> None:
    d.angle = float(m[1])


def _amount(d: Details, m: re.Match[str]) -> None:
    d.amount = round(float(m[1]) * LITRES[m[2]], 3)


def _count(d: Details, m: re.Match[str]) -> bool | None:
    many = int(next(group for group in m.groups() if group))
    if not 1 <= many <= _MOST:
        return False
    d.count = d.count or many
    return None


def _seal(d: Details, m: re.Match[str]) -> None:
    d.seal = d.seal or m["after"] or m["before"]


def _new(d: Details, m: re.Match[str]) -> None:
    d.renew = True


def _fasteners(d: Details, m: re.Match[str]) -> None:
    """A number before a noun is how many; before one in the singular it is the size."""
    many = "2" if m["n"] == "both" else m["n"]
    if many:
        if singular(m["noun"]) == m["noun"] and many in HEXES and not d.sized:
            d.hex = many
        else:
            d.count = d.count or int(many)
    if not d.what or singular(d.what.split()[-1]) == "stud":
        d.what = f"{m['adjectives'] or ''}{m['noun']}".strip()


def _remark(d: Details, m: re.Match[str]) -> None:
    d.remark = f"{m[1]} hand thread"


def _many_of_a_size(d: Details, m: re.Match[str]) -> bool | None:
    """ "Five screw 17"."""
    if m["size"] not in HEXES or d.sized:
        return False
    d.count, d.hex = int(m["n"]), m["size"]
    d.what = d.what or (m["noun"] if d.count == 1 else f"{m['noun']}s")
    return None


def _sequence(d: Details, m: re.Match[str]) -> None:
    d.remark = m[1]


def _odd_ones(d: Details, m: re.Match[str]) -> bool | None:
    """ "Four gland nuts": a word before them that names no thing is of the nuts."""
    if kind_of(m["word"]) or m["word"] in _SIDES or d.what:
        return False
    d.what, d.count = f"{m['word']} {m['noun']}", d.count or int(m["n"])
    return None


def _bare_size(d: Details, m: re.Match[str]) -> bool | None:
    if m[1] not in HEXES or d.sized:
        return False
    d.hex, d.sure["hex"] = m[1], 0.7
    return None


def _bare_count(d: Details, m: re.Match[str]) -> bool | None:
    if d.count is not None or not 1 <= int(m[1]) <= 60:
        return False
    d.count, d.sure["count"] = int(m[1]), 0.7
    return None


_NOUN = one_of(words("fasteners", "nouns"), plural=True)
_ADJECTIVE = one_of(words("fasteners", "adjectives"))
_SEAL = one_of(words("fasteners", "seals"), plural=True)
_NO_SEAL = r"(?:(?!\d|the|new|old|and|cover|valve|head|out|dust|oil|a\b)\w+ )?"
_BEHIND_NOUN = (
    r"(?= ~|$|,| (?:off|out|at|on|from|under|behind|in|each|per|holding|and|with|that|undone|round|around"
    r"|underneath|above|below|inside|to|for|of|hold|holds|holding|securing|retaining|fixing)\b)"
)
_FIRST: tuple[Rule, ...] = (
    rule(
        r"(?:\b(?:put |kept |keep |all |goes |go |they go )?\b(?:in(?:to|side)?|to) (?:the )?)?"
        r"\b(?P<in>bags?|tray|pot|tin|jar|box|cup|tub|bin|dish|baggie)(?: no\.?| number"
        r"|:| nr\.?)?(?: |(?=\d))"
        r"(?P<name>[a-h]\b|no\d+|\d+\b)(?! (?:bolts?|nuts?|screws?|clips?|off\b|x\b|x \d))",
        _bag,
    ),
    rule(rf"\b(?:in(?:to)? (?:the |a )?)(?P<in>{one_of(words('words', 'bags'))})(?! ~)", _container),
    rule(rf"\b{_N} ?(?P<unit>h(?:ou)?r?s?|min(?:ute)?s?|seconds?|secs?)\b", _time),
    rule(r"\b(half an|an|a) (hour|minute)\b", _time_in_words),
    rule(
        r"(?:\b(?:torque(?:d)?(?: to| up to|:)?|to|at|@|tighten(?:ed)? to|tight) )?"
        rf"(?:{_N} ?(?P<to>-|to|\.\.) ?)?(?<![\d.])(?P<n>\d+(?:\.\d+)?) ?(?P<unit>nm|lbft|lbin|kgm)\b",
        _torque,
    ),
    rule(rf"(?:\+|\bplus|\bthen|\band|\bfurther)? ?\b{_N} deg\b", _angle),
    rule(rf"\b(?:torque(?:d)?(?: to| up to|:)?) {_N}(?! ?(?:mm|m\d))", _torque_without_unit),
    rule(
        rf"(?:\babout |\bapprox\.? |~ ?)?\b{_N} ?({'|'.join(sorted(LITRES, key=len, reverse=True))})"
        r"(?: of)?(?![\w/])",
        _amount,
    ),
)
_LAST: tuple[Rule, ...] = (
    rule(
        r"(?:^|(?<= ))(?P<n>\d{1,2}) (?P<noun>screw|bolt|nut)s? (?P<size>\d{1,2})(?= ~|$|,)", _many_of_a_size
    ),
    rule(
        r"\b(?:undo |undone |loosen |slacken |tighten )?"
        r"(from (?:the )?(?:outside|ends?|middle|centre|center|inside|edges?)(?: to the \w+)?"
        r"(?: (?:in|out|inwards?|outwards?))?|crosswise|criss-?cross|diagonally|in stages|a little at a time"
        r"|(?:a |half a |a half |a quarter )turn at a time(?: crosswise)?)(?!\w)",
        _sequence,
    ),
    rule(r"\b(\d{1,2})(?: mm)? (?:spanner|wrench|ring spanner)\b", _bare_size),
    rule(r"(?:(?<=nut )|(?<=bolt )|(?<=union ))(\d{1,2})(?= ~|$|,)", _bare_size),
    rule(r"(?:(?<=bolts )|(?<=nuts )|(?<=unions ))(\d{1,2})(?=$|,)", _bare_size),
    rule(r"\b(?:with |has |on )?(?:an? )?(left|right)[- ]hand(?:ed)? threads?\b", _remark),
    rule(
        r"(?:^|(?<= ))(?P<n>\d+) (?P<word>[a-z]+) (?P<noun>nuts|bolts|screws|studs|clips|pins)(?= ~|$|,)",
        _odd_ones,
    ),
    rule(r"(?:^|(?<= ))(\d+) (?=(?:drain |sump |level |filler |oil )?plug\b)", _bare_size),
    rule(
        r"(?:^|(?<= ))(\d+) ?x(?= |$|[a-z])|(?:^|(?<= ))x ?(\d+)\b|\((\d+)\)"
        r"|\b(\d+) (?:off|of(?: them)?|no\.?|each|per)\b(?! (?:the|it|its)\b)",
        _count,
    ),
    rule(
        r"\b(?:new|renew|replace|change|fresh|fit new|with new) (?:the )?(?:\d+ )?"
        rf"(?P<after>(?:(?:\w+) )?{_SEAL})"
        rf"|(?:\b(?:renew|new) )?\b(?:\d+ )?(?P<before>{_NO_SEAL}{_SEAL})(?:s)?"
        r"(?: ~)? (?:new|renewed?|replaced?|to be renewed)\b",
        _seal,
    ),
    rule(
        r"(?:^|(?<=~ ))(?:always |fit |use |with |to be |a )?"
        r"(?:new(?: ones?)?|renew(?:ed)?|single use|single-use|not reusable|use once|discard|throw away)"
        rf"(?: each time| every time| on refit| on refitting)?(?=$| ~|,|\.| $)|\b(?:new|renew) (?={_NOUN})",
        _new,
    ),
    rule(
        r"(?:^|(?<=~ )|(?:^|(?<= ))(?P<n>\d+|both) (?:~ )?|(?:^|(?<= ))(?:the|with"
        r"|by|and|of|an?) )(?:the |of )?"
        rf"(?P<adjectives>(?:{_ADJECTIVE} )*)(?P<noun>{_NOUN}){_BEHIND_NOUN}",
        _fasteners,
    ),
)
_RULES = (*_FIRST, *sizes.RULES, *_LAST)
_ALONE = re.compile(r"^(\d{1,2})$")
_SIZE_ALONE = (
    re.compile(rf"(?:^|(?<={GAP} )|(?<=, ))(\d{{1,2}})(?=$| {GAP}|,)"),
    re.compile(r"\b(\d{1,2})(?= (?:socket|spanner|wrench)\b)"),
)
_COUNT_ALONE = re.compile(rf"(?<![\w.])(\d{{1,2}})(?: off)? (?={GAP})")


def details(text: str) -> Details:
    """Everything of that kind in a plain piece of a line.

    A number that stands alone is a size where fasteners are spoken of and none was given, else how many.
    """
    d = Details(text)
    for pattern, found in _RULES:
        d.take(pattern, found)
    d.take(_ALONE, _bare_count)
    if d.count is not None or d.thread or d.what:
        for pattern in _SIZE_ALONE:
            d.take(pattern, _bare_size)
    if d.hex and KEYED.search(d.what):
        d.hex, d.socket_hex = None, d.hex
    if (d.sized or d.thread or d.what) and d.count is None:
        d.take(_COUNT_ALONE, _bare_count)
    return d
