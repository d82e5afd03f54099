"""A line in pieces: sentences, and what commas, colons, dashes, brackets and "then" part in them."""

import re
from dataclasses import dataclass

from companion.outline.deed import Doing
from companion.outline.lexicon import one_of, rows

_ACT = one_of(
    [
        verb
        for doing, lists in rows("acts").items()
        if doing != Doing.NOTE
        for verb in (*lists.get("plain", ()), *lists.get("parted", ()))
    ]
)
_SENTENCE = re.compile(r"[.;!](?=\s|$)|\s*(?:->|=>|→)\s*")
_PARTED_BY_WIRE = r"\band (?=an? (?:\w+ ){0,2}(?:hose|pipe|plug|connector|cable|wire|lead)s?\b)"
_CUT = re.compile(
    r",|:(?!\d)|\s[-–—]+\s|[()]|\s\+\s|\band then\b|\bthen\b|\bso first thing is\b|\bwhen you\b"
    rf"|\band (?=(?:the |now |you |get |have )*{_ACT})|{_PARTED_BY_WIRE}"
    r"|\band (?=(?:get|pull|take|slip|drop|lift) )"
)


@dataclass(frozen=True)
class Piece:
    """A part of a sentence, and the mark before it."""

    text: str
    before: str
    """Such as "," or "then"; empty for the first of a sentence."""
    after: str
    """The mark behind it."""


def pieces(line: str) -> list[list[Piece]]:
    """The pieces of each sentence of a plain line."""
    return [found for sentence in _sentences(line) if (found := [*_pieces(sentence)])]


def _sentences(line: str) -> list[str]:
    parts = [part.strip() for part in _SENTENCE.split(_guarded(line))]
    return [part.replace("\0", ".") for part in parts if part]


def _guarded(line: str) -> str:
    """Points that end no sentence."""
    return re.sub(r"\b(no|approx|max|min|ca|incl|e\.g|i\.e)\.", "\\1\0", line)


def _pieces(sentence: str) -> list[Piece]:
    found: list[Piece] = []
    start, before = 0, ""
    for match in [*_CUT.finditer(sentence), None]:
        end = match.start() if match else len(sentence)
        mark = (match[0].strip() or "-") if match else ""
        if text := sentence[start:end].strip(" ,"):
            found.append(Piece(text, before, mark))
            before = mark
        elif found:
            before = mark or before
        if match:
            start = match.end()
    return found
