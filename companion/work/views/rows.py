"""Rows of a screen: words fitted to a width that is counted in cells, and nothing cut without a mark."""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One row and how it looks. The words say it all: the look adds nothing."""

    text: str = ""
    style: str = ""
    """Words of "bold", "dim", "reverse", "red"."""


def cells(text: str) -> int:
    """How many columns a terminal uses for it: two for wide signs, none for accents of their own."""
    return len(text) if text.isascii() else sum(map(_cell, text))


def _cell(sign: str) -> int:
    if unicodedata.combining(sign) or unicodedata.category(sign) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in ("W", "F") else 1


def wrapped(text: str, width: int) -> list[str]:
    """The words in lines of that width. A word that is longer than a line is broken."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        for piece in _pieces(word, width):
            joined = f"{line} {piece}" if line else piece
            if cells(joined) <= width:
                line = joined
            else:
                lines.append(line)
                line = piece
    return [*lines, line] if line else lines


def _pieces(word: str, width: int) -> Iterator[str]:
    while cells(word) > width:
        head = _head(word, width)
        yield head or "?"  # A wide sign in a single column.
        word = word[max(1, len(head)) :]
    if word:
        yield word


def _head(text: str, width: int) -> str:
    """As many signs from the start as fit."""
    used = 0
    for at, sign in enumerate(text):
        used += _cell(sign)
        if used > width:
            return text[:at]
    return text


def cut(text: str, width: int, more: str) -> str:
    """The text; where it does not fit, as much as does and then `more`."""
    return text if cells(text) <= width else ended(text, width, more)


def ended(text: str, width: int, more: str) -> str:
    """The text with `more` at its end, cut so that both fit."""
    room = width - cells(more)
    return _head(text, room).rstrip() + more if room >= 0 else _head(more, width)


def tail(text: str, width: int, more: str) -> str:
    """The end of a text that is being written."""
    if cells(text) <= width:
        return text
    mark = more if cells(more) < width else ""
    return mark + _head(text[::-1], width - cells(mark))[::-1]


def padded(text: str, width: int) -> str:
    """Filled up with blanks."""
    return text + " " * (width - cells(text))


def cut_off(lines: Sequence[str], rows: int, width: int, more: str) -> list[str]:
    """As many lines as there are rows. When some do not fit, the last one says so."""
    if len(lines) <= rows:
        return list(lines)
    return [*lines[: rows - 1], ended(lines[rows - 1], width, more)] if rows > 0 else []
