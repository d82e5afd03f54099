"""What a terminal would obey is taken out of text where it enters, in every language."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.harmless import harmless
from companion.job.facts.events import HeardCommand, JobOpened, NoteTaken, Record


@pytest.mark.parametrize("text", ["Bremse vorn, grün", "초록 초록", "می‌روم", "50 % of 25 N·m at 90°, “so”"])
def test_words_of_any_language_stay_as_they_are(text):
    assert harmless(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("off\x1b[2Jon", "off [2Jon"),
        ("one\r\ntwo\tthree", "one  two three"),
        ("\u202eDAED", " DAED"),
        ("caf\udce9", "caf\ufffd"),
        ("a\x9bb", "a b"),
    ],
)
def test_controls_escapes_and_directions_become_spaces(text, shown):
    assert harmless(text) == shown


@given(st.text())
def test_nothing_is_left_that_is_not_shown(text):
    left = harmless(text).replace("\u200c", "").replace("\u200d", "")
    assert left.isprintable()
    assert harmless(harmless(text)) == harmless(text)
    harmless(text).encode("utf-8")


def test_what_was_typed_or_altered_in_a_log_is_harmless_in_the_event():
    assert NoteTaken(note=1, step=None, text="clip\x1b[31m broken").text == "clip [31m broken"
    assert HeardCommand(command="note", text="\x07").text == " "
    opened = JobOpened(
        job="j", title="T\x1b]0;owned\x07", revision="1", procedure_sha256="0", vehicle="A\x00"
    )
    assert "\x1b" not in opened.title
    line = {"schema": 1, "seq": 1, "at": "2031-01-01T00:00:00Z", "mono": 1.0}
    record = Record.from_line({**line, "event": "said", "text": "\x1b[2JALL SAFE"})
    assert record.event.text == " [2JALL SAFE"
