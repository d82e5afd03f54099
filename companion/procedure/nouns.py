"""Names of things in a sentence: with their article, with their number, and with the verb that fits.

A name is written by whoever writes a procedure: "drain plug", "the battery", "sump bolts", "pair of washers".
"""

import re

_IRREGULAR = {"foot": "feet", "half": "halves", "axis": "axes"}
_ONE_ALL_THE_SAME = re.compile(r"(ss|us|is|lens|gas)$")
_HEAD = re.compile(r"(?P<head>.*?)(?P<rest>(?: (?:of|with|for|in|from|behind) .*)?)", re.DOTALL)
_HAS_ITS_OWN = re.compile(r"(?:the|an?|your|its|both|all|\d+) ", re.IGNORECASE)
_THE = re.compile(r"the ", re.IGNORECASE)


def the(name: str) -> str:
    """With its article: "the drain plug". A name that begins with one keeps it."""
    if _THE.match(name):
        return f"the {name[4:]}"
    return name if _HAS_ITS_OWN.match(name) else f"the {name}"


def bare(name: str) -> str:
    """Without "the"."""
    return _THE.sub("", name, count=1) if _THE.match(name) else name


def is_plural(name: str) -> bool:
    """Does the name speak of more than one? By the spelling of its noun: "sump bolts", "pairs of washers"."""
    last = _head(name)[0].split(" ")[-1].lower()
    return last in _IRREGULAR.values() or (last.endswith("s") and not _ONE_ALL_THE_SAME.search(last))


def verb(name: str) -> str:
    """ "Is" or "are"."""
    return "are" if is_plural(name) else "is"


def plural(name: str) -> str:
    """Of more than one: "bolts", "bushes", "assemblies", "feet", "pairs of washers"."""
    head, rest = _head(name)
    *before, last = head.split(" ")
    if last in _IRREGULAR:
        last = _IRREGULAR[last]
    elif re.search(r"(s|x|z|ch|sh)$", last):
        last += "es"
    elif re.search(r"[^aeiou]y$", last):
        last = last[:-1] + "ies"
    else:
        last += "s"
    return " ".join([*before, last]) + rest


def as_many(number: int, name: str) -> str:
    """The name for so many, whether it was written for one or for more."""
    return name if number == 1 or is_plural(name) else plural(name)


def several(number: int, name: str) -> str:
    """With its number: "8 bolts", "1 drain plug"."""
    return f"{number} {as_many(number, name)}"


def _head(name: str) -> tuple[str, str]:
    """The noun with what stands before it, and what hangs on it."""
    match = _HEAD.fullmatch(name)
    assert match, "the pattern takes every text"
    return match["head"], match["rest"]
