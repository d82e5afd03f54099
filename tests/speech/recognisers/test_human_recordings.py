"""People, not synthesisers: recordings of one speaker from Debian's asterisk-core-sounds-en-wav package.

The words are what the files are named for (digits, days, months). Licence CC-BY-SA-3.0; none of it is kept
here.
"""

from pathlib import Path

import pytest

from companion.job.facts.said.given import SpokenState
from companion.speech.language.phrases import Phrase
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.sound.recordings import read_clip

SOUNDS = next(iter(Path("/usr/share/asterisk/sounds").glob("en*/digits")), None)

NUMBERS = [
    *("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"),
    *("thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty"),
]
DAYS = ["sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"]
MONTHS = [
    *("january", "february", "march", "april", "may", "june", "july"),
    *("august", "september", "october", "november", "december"),
]

WORDS = (
    {f"{n}": word for n, word in enumerate(NUMBERS, start=1)}
    | {f"day-{n}": word for n, word in enumerate(DAYS)}
    | {f"mon-{n}": word for n, word in enumerate(MONTHS)}
)

pytestmark = pytest.mark.skipif(
    SOUNDS is None, reason="apt install asterisk-core-sounds-en-wav brings the recordings"
)


def test_a_person_saying_numbers_days_and_months_is_understood():
    """39 single words, all active at once: twice as many as a step has, and shorter than our commands."""
    assert SOUNDS
    recogniser = EmbeddedRecogniser()
    recogniser.expect([Phrase(word, "state", SpokenState(word)) for word in WORDS.values()])
    judged = {word: recogniser.judge(read_clip(SOUNDS / f"{name}.wav")) for name, word in WORDS.items()}
    best = [word for word, j in judged.items() if j.phrase and j.phrase.text == word]
    wrong = [
        word
        for word, j in judged.items()
        if j.verdict is Verdict.ACCEPTED and j.phrase and j.phrase.text != word
    ]
    assert len(best) >= 0.9 * len(WORDS), sorted(set(judged) - set(best))
    assert not wrong
