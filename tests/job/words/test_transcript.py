"""Every sentence that the procedures that come along can produce, as it was last read and approved of."""

import difflib
import re
import sys
from pathlib import Path

import pytest

from companion.procedure.wording import for_the_ear, sentences

ROOT = Path(__file__).parents[3]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from tests.job.words import make_transcript  # noqa: E402

MAKE = "python -m tests.job.words.make_transcript"


def test_no_sentence_has_changed_unread():
    kept = make_transcript.KEPT.read_text(encoding="utf-8").splitlines()
    made = make_transcript.made().splitlines()
    changed = list(difflib.unified_diff(kept, made, "kept", "today", n=1, lineterm=""))
    shown = "\n".join(changed[:60])
    assert not changed, f"sentences have changed; read them, and keep them with '{MAKE}':\n{shown}"


LONGEST = 24
"""Words in one sentence, as spoken."""
SAID = [line[2:] for line in make_transcript.KEPT.read_text(encoding="utf-8").splitlines() if line[:1] == ">"]
SENTENCES = [sentence for saying in SAID for sentence in sentences(saying)]


def no_longer_than_can_be_kept_in_mind(sentence: str) -> bool:
    return len(for_the_ear(sentence).split()) <= LONGEST


def in_words_for_the_ear(sentence: str) -> bool:
    return "×" not in sentence and not re.search(r"[\d·°%±≥≤=+&@/µΩ]", for_the_ear(sentence))


def with_a_capital_and_an_end_mark(sentence: str) -> bool:
    return bool(re.fullmatch(r"[A-Z0-9](?:(?![.?!]{2}).)*[.?!]", sentence))


def with_no_word_twice_in_a_row(sentence: str) -> bool:
    state = r"(open|off|apart|out|drained|dead|cool|gone|new)"
    return not re.search(rf"\b(\w+) \1\b|\b{state}\b(?: \w+){{0,3}} (?:is|are) \2\b", sentence, re.IGNORECASE)


def with_a_number_that_fits_its_noun(sentence: str) -> bool:
    verbs = "is|was|has|needs|comes|wants|gives"
    one_of_many = re.search(rf"\b(?:[Oo]ne|1) (?!{verbs})[a-z]+s\b", sentence)
    many_are = re.search(r"\b(?:bolts|screws|washers|boots|wheels|pins|discs|pads) (?:is|has)\b", sentence)
    return not (one_of_many or many_are)


def without_what_the_program_has_not(sentence: str) -> bool:
    return not re.search(r"\bNone\b(?! (?:of|counted))|\bnull\b|\[|\{|_", sentence)


@pytest.mark.parametrize(
    "said",
    [
        no_longer_than_can_be_kept_in_mind,
        in_words_for_the_ear,
        with_a_capital_and_an_end_mark,
        with_no_word_twice_in_a_row,
        with_a_number_that_fits_its_noun,
        without_what_the_program_has_not,
    ],
)
def test_every_sentence_is_one_that_a_mechanic_can_hear(said):
    assert [sentence for sentence in SENTENCES if not said(sentence)] == []


def test_no_saying_tells_more_than_three_things():
    assert [saying for saying in SAID if len(sentences(saying)) > 3] == []


@pytest.mark.parametrize(
    ("said", "never"),
    [
        (no_longer_than_can_be_kept_in_mind, "Step 1: " + "take it off and " * 6 + "put it down."),
        (in_words_for_the_ear, "On the bench: 2 × pair of copper washers?"),
        (with_a_capital_and_an_end_mark, "the battery is dead."),
        (with_a_capital_and_an_end_mark, "The battery is dead"),
        (with_a_capital_and_an_end_mark, "This step wants something else; 10 N·m.."),
        (with_no_word_twice_in_a_row, "Undertray screws: bag bag one."),
        (with_no_word_twice_in_a_row, "The open crankcase is open."),
        (with_a_number_that_fits_its_noun, "1 faults are left."),
        (with_a_number_that_fits_its_noun, "The front wheels is out."),
        (without_what_the_program_has_not, "Step None is not done."),
    ],
)
def test_these_checks_notice(said, never):
    assert not said(never)
