"""The trade words, read once from the `.toml` files here: a row more, and it is understood."""

import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

Rows = Mapping[str, Any]


@cache
def rows(name: str) -> Rows:
    """One file of the lexicon."""
    return tomllib.loads(files(__name__).joinpath(f"{name}.toml").read_text("utf-8"))


def words(name: str, *path: str) -> tuple[str, ...]:
    """A list of it, the longest first, so that the longest fits first."""
    found: Any = rows(name)
    for key in path:
        found = found[key]
    return tuple(sorted(dict.fromkeys(found), key=lambda word: (-len(word), word)))


def one_of(some: Iterable[str], *, plural: bool = False) -> str:
    """A pattern that matches any of these words, each whole, the longest first."""
    longest = sorted(dict.fromkeys(some), key=lambda word: (-len(word), word))
    return rf"\b(?:{'|'.join(map(re.escape, longest))}){'(?:s|es)?' if plural else ''}(?!\w)"


def singular(word: str) -> str:
    """Near enough for comparing names: "bolts" and "bolt", "switches" and "switch"."""
    if word.endswith(("ses", "xes", "ches", "shes")) and len(word) > 4:
        return word[:-2] if not word.endswith("ses") or word.endswith("sses") else word[:-1]
    return word[:-1] if word.endswith("s") and not word.endswith("ss") and len(word) > 2 else word


def key(name: str) -> str:
    """A name as names are compared: lower case, no articles, each word singular."""
    articles = rows("words")["articles"]
    plain = re.sub(r"[^\w/.]+", " ", name.lower()).split()
    return " ".join(singular(word) for word in plain if word not in articles)


@cache
def trade_words() -> frozenset[str]:
    """Every single word that the lexicon knows: what a misspelt word may have been meant for."""
    found: set[str] = set()

    def gather(value: Any) -> None:
        if isinstance(value, str):
            found.update(re.findall(r"[a-z]{3,}", value))
        elif isinstance(value, list):
            for one in value:
                gather(one)
        elif isinstance(value, dict):
            for name, one in value.items():
                gather(name)
                gather(one)

    for name in ("acts", "fasteners", "words"):
        gather(dict(rows(name)))
    for kind in ("kinds", "fluids"):
        gather(rows("things")[kind])
    return frozenset(found | {f"{word}s" for word in found})
