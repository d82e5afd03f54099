"""Text from outside, made harmless where it enters: a terminal obeys more than it shows."""

_KEPT = "\u200c\u200d"
"""Joiners that some scripts need; they show nothing and turn nothing round."""


_BEGIN_FORMULAS = ("=", "+", "-", "@")


def harmless(text: str) -> str:
    """The text with every control, escape and direction mark made a space, on one line.

    What is no character at all (a byte that was no UTF-8) becomes the replacement character.
    """
    return text if text.isprintable() else "".join(map(_shown, text))


def one_line(text: str) -> str:
    """The same with no more than one space between words: for lists, tables and messages."""
    return " ".join(harmless(text).split())


def cell(text: str) -> str:
    """The text for a table that a spreadsheet opens: harmless, and never taken for a formula.

    Spreadsheets take what begins with one of four signs for one; an apostrophe before it makes it text.
    """
    shown = harmless(text)
    return f"'{shown}" if shown.lstrip()[:1] in _BEGIN_FORMULAS else shown


def _shown(character: str) -> str:
    if character.isprintable() or character in _KEPT:
        return character
    return "\ufffd" if "\ud800" <= character <= "\udfff" else " "
