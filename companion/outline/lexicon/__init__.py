"""The trade words, read once from the `.toml` files here: a row more, and it is understood."""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
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
    """Single words that a misspelt one may have been meant for: acts, fasteners, names of things."""
    names = {*_single(rows("fasteners")), *_single(rows("things")["kinds"]), *rows("things")["fluids"]}
    return frozenset({*_single(rows("acts")), *names, *(f"{name}s" for name in names)})


@cache
def known_words() -> frozenset[str]:
    """Every single word of the lexicon: none of these is misspelt."""
    return frozenset({*trade_words(), *_single(rows("words"))})


def _single(value: Any) -> Iterator[str]:
    match value:
        case str():
            yield from re.findall(r"[a-z]{3,}", value)
        case list():
            for one in value:
                yield from _single(one)
        case dict():
            for one in value.values():
                yield from _single(one)
