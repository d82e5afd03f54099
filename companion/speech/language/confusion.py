"""Which phrases sound alike: a table of likeness, from the phonemes that espeak-ng gives each phrase.

Likeness is 1 less the edit distance of the phonemes over the longer one's length; sounds of one kind count as
near. It is a warning for people who choose words, and no part of recognition.
"""

import ctypes
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from threading import Lock

from companion.speech.language.phrases import Phrase, plain

ALIKE = 0.7
"""CHOSEN: phrases this alike are reported; that takes in "note" and "no", but not "done" and "undo"."""

_KINDS = ("pb", "td", "kɡg", "fv", "szʃʒ", "θð", "mnŋ", "lrɹ", "wu", "ji")
_VOWELS = "aeiouæɐɑɒɔəɚɛɜɪʊʌᵻ"
_SKIPPED = "ˈˌːˑ‍ "
_UTF8, _IPA, _SILENT = 1, 2, 2
_one_at_a_time = Lock()


@dataclass(frozen=True)
class Confusion:
    """Two phrases that sound alike and mean different things."""

    one: Phrase
    other: Phrase
    likeness: float
    """From `ALIKE` to 1."""

    def __str__(self) -> str:
        return f'"{self.one.text}" sounds like "{self.other.text}" ({self.likeness:.2f})'


def confusions(phrases: Iterable[Phrase], alike: float = ALIKE) -> list[Confusion]:
    """Pairs of different meaning that sound alike, the likest first."""
    listed = list(phrases)
    pairs = [
        Confusion(a, b, likeness(a.text, b.text))
        for i, a in enumerate(listed)
        for b in listed[i + 1 :]
        if (a.command, a.given) != (b.command, b.given)
    ]
    return sorted((p for p in pairs if p.likeness >= alike), key=lambda p: -p.likeness)


def sounds_like(words: str, phrases: Sequence[Phrase], alike: float = ALIKE) -> Confusion | None:
    """The phrase that words of a procedure sound most like, if any. The same words count as alike."""
    found = [Confusion(Phrase(words, "state"), p, likeness(words, p.text)) for p in phrases]
    worst = max(found, key=lambda c: c.likeness, default=None)
    return worst if worst and worst.likeness >= alike else None


def likeness(one: str, other: str) -> float:
    """From 0 (nothing alike) to 1 (the same sounds)."""
    a, b = phonemes(plain(one)), phonemes(plain(other))
    if not a or not b:
        return 0.0
    return 1.0 - _distance(a, b) / max(len(a), len(b))


@cache
def phonemes(text: str) -> str:
    """The phonemes of an English text, without stress and length marks."""
    with _one_at_a_time:
        library = _espeak()
        rest = ctypes.c_char_p(text.encode())
        found = []
        while rest.value:
            part = library.espeak_TextToPhonemes(ctypes.byref(rest), _UTF8, _IPA)
            found.append(part.decode() if part else "")
    return "".join(c for c in "".join(found) if c not in _SKIPPED)


@cache
def _espeak() -> ctypes.CDLL:
    import espeakng_loader

    library = ctypes.CDLL(espeakng_loader.get_library_path())
    library.espeak_Initialize(_SILENT, 0, espeakng_loader.get_data_path().encode(), 0)
    library.espeak_SetVoiceByName(b"en-us")
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    library.espeak_TextToPhonemes.argtypes = [ctypes.POINTER(ctypes.c_char_p), ctypes.c_int, ctypes.c_int]
    return library


def _distance(a: str, b: str) -> float:
    row = [float(j) for j in range(len(b) + 1)]
    for i, x in enumerate(a, start=1):
        before, row[0] = row[0], float(i)
        for j, y in enumerate(b, start=1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + _apart(x, y))
    return row[-1]


def _apart(x: str, y: str) -> float:
    if x == y:
        return 0.0
    if any(x in kind and y in kind for kind in _KINDS):
        return 0.4
    return 0.5 if x in _VOWELS and y in _VOWELS else 1.0
