"""Text from outside, made harmless where it enters: a terminal obeys more than it shows."""

_KEPT = "\u200c\u200d"
"""Joiners that some scripts need; they show nothing and turn nothing round."""


def harmless(text: str) -> str:
    """The text with every control, escape and direction mark made a space, on one line.

    What is no character at all (a byte that was no UTF-8) becomes the replacement character.
    """
    return text if text.isprintable() else "".join(map(_shown, text))


def _shown(character: str) -> str:
    if character.isprintable() or character in _KEPT:
        return character
    return "\ufffd" if "\ud800" <= character <= "\udfff" else " "
