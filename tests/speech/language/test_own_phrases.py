"""A mechanic's own words: added to what can be said, refused where they mean something else already."""

from pathlib import Path

import pytest

from companion.errors import CompanionError
from companion.job.facts.commands import Command
from companion.speech.language.own_phrases import easily_mistaken, opened_by, read_own_phrases, with_own
from companion.speech.language.phrases import language, phrases_for

ENGLISH = language()


def kept(folder: Path, text: str) -> Path:
    path = folder / "phrases.yaml"
    path.write_text(text)
    return path


def test_own_words_are_heard_beside_those_that_come_along(tmp_path) -> None:
    own = read_own_phrases(kept(tmp_path, "done: [Finished, fertig]\nrepeat: come again\n"), ENGLISH)
    said = with_own(phrases_for([Command.DONE, Command.SKIP]), own)
    assert {p.text for p in said if p.command == Command.DONE} >= {"done", "finished", "fertig"}
    assert "come again" not in {p.text for p in said}, "it cannot be said now"
    assert {p.text for p in opened_by("wrench", said)} >= {"wrench finished", "wrench skip"}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("dome: [finished]", "'dome' is no command; did you mean 'done'?"),
        ("done: [undo]", "'undo' cannot mean 'done': it means 'undo'; choose another word"),
        ("done: [ok]", "'ok' for 'done' cannot be listened for; give 3 to 30 letters and no figures"),
        ("done: [ready]\nskip: [ready]", "'ready' cannot mean"),
        ("done: [", "not YAML"),
        ("- done", "no words for commands in it"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(tmp_path, text: str, why: str) -> None:
    path = kept(tmp_path, text)
    with pytest.raises(CompanionError, match=r"phrases\.yaml") as told:
        read_own_phrases(path, ENGLISH)
    assert why in str(told.value)
    assert "\n" not in str(told.value)


def test_a_word_that_sounds_like_another_command_is_told_when_it_is_read(tmp_path) -> None:
    own = read_own_phrases(kept(tmp_path, "repeat: [strip]\ndone: [finished]"), ENGLISH)
    (line,) = easily_mistaken(own, ENGLISH)
    assert line.startswith('"strip" (repeat) sounds like "stop" (stop, 0.')
