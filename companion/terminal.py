"""Text on its way to a terminal: nothing that it would obey, nothing that it cannot show.

Words come from procedures, logs and typed lines, and may hold anything: an escape sequence that wipes the
screen, a mark that turns the line around, a sign that this terminal has no letter for.
"""

import codecs
import re
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from typing import Any, TextIO

from companion.harmless import harmless, one_line

NEAREST = "companion-nearest"
"""Name of the way to encode that never fails: see `_nearest`."""

_PLAIN = {
    "×": "x", "·": ".", "°": "deg", "…": "...", "–": "-", "—": "-", "−": "-", "“": '"', "”": '"', "‘": "'",
    "’": "'", "≤": "<=", "≥": ">=", "Ω": "ohm", "µ": "u", "μ": "u", "│": "|", "─": "-", "█": "#", "←": "<-",
    "→": "->", "\u00a0": " ",
}  # fmt: skip
"""What to write where a terminal lacks the letter."""
_CODE = "(?:[0-4]|3[1-6])"
_STYLE = re.compile(f"(\x1b\\[{_CODE}?(?:;{_CODE})*m)")
"""Styles that the program itself writes: they change how words look, and hide none."""


def fitted(text: str, encoding: str) -> str:
    """The same as far as this encoding has letters for it, the nearest where it has none."""
    return text.encode(encoding, NEAREST).decode(encoding)


@dataclass(frozen=True)
class Letters:
    """What a terminal can show."""

    encoding: str = "utf-8"

    def words(self, text: str) -> str:
        """Any text, harmless, on one line."""
        return self.signs(one_line(text))

    def signs(self, text: str) -> str:
        """Text of our own, blanks and all."""
        return fitted(text, self.encoding)


def _nearest(error: UnicodeError) -> tuple[str, int]:
    """A code for `errors=`: another way to write what cannot be encoded."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end]
    return "".join(map(_plainly, lacking)), error.end


def _plainly(character: str) -> str:
    if character in _PLAIN:
        return _PLAIN[character]
    bare = unicodedata.normalize("NFKD", character)[:1]
    return bare if bare.isascii() and bare.isprintable() else "?"


codecs.register_error(NEAREST, _nearest)


class Harmless:
    """A stream that lets nothing through that a terminal would obey, and never fails for want of a letter."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self.letters = letters_of(stream)
        """The encoding that tells which letters it can show."""
        # Click goes round a stream that says it is ASCII, and writes UTF-8 all the same.
        self.encoding = "utf-8" if codecs.lookup(self.letters).name == "ascii" else self.letters

    def write(self, text: str, /) -> int:
        passed = text if text.isprintable() else _passed(text)
        self._stream.write(fitted(passed, self.letters))
        return len(text)

    def flush(self) -> None:
        self._stream.flush()

    def fileno(self) -> int:
        return self._stream.fileno()

    def isatty(self) -> bool:
        return self._stream.isatty()


def _passed(text: str) -> str:
    """Lines and tabs are kept, and the program's own styles."""
    pieces = _STYLE.split(text.replace("\r\n", "\n"))
    return "".join(piece if n % 2 else _WORDS.sub(_cleaned, piece) for n, piece in enumerate(pieces))


_WORDS = re.compile(r"[^\n\t]+")


def _cleaned(words: re.Match[str]) -> str:
    return harmless(words[0])


def letters_of(stream: "TextIO | Harmless") -> str:
    """The encoding that tells which letters a stream can show."""
    return stream.letters if isinstance(stream, Harmless) else stream.encoding or "ascii"


@contextmanager
def harmless_output() -> Iterator[None]:
    """Whatever is printed meanwhile goes to the terminal through `Harmless`."""
    with redirect_stdout(_harmless(sys.stdout)), redirect_stderr(_harmless(sys.stderr)):
        yield


def _harmless(stream: TextIO | None) -> Any:
    return Harmless(stream) if stream is not None else None
