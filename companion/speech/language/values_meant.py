"""Which measured values may have been said, when a recogniser wrote down something near one.

The few that are named here are then weighed against the sound. Whichever wins is read back before it counts.
"""

from collections.abc import Iterator, Sequence

from companion.procedure.numbers import number
from companion.procedure.unit_table import MEASURED
from companion.speech.language.values import (
    NUMBER_WORDS,
    digits_together,
    misheard,
    parse_reading,
    spoken_words,
)

MOST = 60
"""CHOSEN: how many are weighed; more take too long."""
LONGEST = 20
"""Words of a value. CHOSEN: with its unit none has more than a dozen. A recogniser that is led astray goes on
and on, and each word is tried against all others."""


def meant(written: Sequence[str], unit: str) -> list[str]:
    """Values in words, the likeliest first, each once.

    Args:
        written: what free decoding made of the clip, the likeliest first.
        unit: the unit that is wanted.
    """
    said = [text for text in map(_in_words, written) if len(text.split()) <= LONGEST]
    found = [text for text in said if parse_reading(text, unit)]
    if not found:
        found = [text for one in said[:2] for text in _with_one_word_changed(one, unit)]
    by_value: dict[tuple[str, str], str] = {}
    for text in (_in_its_unit(other, unit) for one in found for other in (one, *misheard(one))):
        if value := parse_reading(text, unit):
            by_value.setdefault(value, text)
    return list(by_value.values())[:MOST]


def _in_words(text: str) -> str:
    """Digits spelled out: "19 mm." becomes "nineteen mm"."""
    words = ["minus" if word == "-" else word for word in spoken_words(digits_together(text))]
    return " ".join(number(word) if word.replace(".", "", 1).isdecimal() else word for word in words)


def _in_its_unit(text: str, unit: str) -> str:
    """The same with its unit as it is said: "twelve v", "twelve bolts" become "twelve volts"."""
    words = text.split()
    for end in range(len(words) - 1, 0, -1):
        number, said = " ".join(words[:end]), " ".join(words[end:])
        same = parse_reading(number, unit) == parse_reading(text, unit)
        whole = len(said) > 2 and any(said in spoken for spoken in MEASURED.values())
        if same and parse_reading(number, unit) and not whole:
            return f"{number} {MEASURED[unit][0]}"
    return text


def _with_one_word_changed(text: str, unit: str) -> Iterator[str]:
    """Values that are one word away, such as "furking point eight volts" is."""
    words = text.split()
    known = [word in NUMBER_WORDS for word in words]
    if len(words) < 3 or sum(known) < len(words) - 2:
        return
    for at in range(len(words) - 1):
        if known[at] and not all(known[:-1]):
            continue  # the word that is none of a number's is the one that was misheard
        for word in NUMBER_WORDS:
            changed = " ".join([*words[:at], word, *words[at + 1 :]])
            if parse_reading(changed, unit):
                yield changed
