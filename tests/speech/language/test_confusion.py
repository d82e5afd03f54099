"""Which phrases sound alike."""

import pytest

from companion.job.facts.commands import Command
from companion.speech.language.confusion import confusions, likeness, phonemes, sounds_like
from companion.speech.language.phrases import Phrase, phrases_for


@pytest.mark.parametrize(
    ("one", "other"),
    [("done", "dun"), ("four", "for"), ("two", "too"), ("sight", "site"), ("Done!", "done")],
)
def test_what_is_pronounced_the_same_is_alike(one: str, other: str) -> None:
    assert likeness(one, other) == 1.0


def test_the_nearer_the_sounds_the_more_alike() -> None:
    assert likeness("bolt", "bold") > likeness("bolt", "belt") > likeness("bolt", "gasket")
    assert likeness("seal fitted", "seal fitted") == 1.0
    assert likeness("", "done") == 0.0


def test_likeness_goes_both_ways() -> None:
    assert likeness("go back", "good pack") == likeness("good pack", "go back")


def test_phrases_of_one_meaning_are_no_confusion() -> None:
    assert confusions([Phrase("done", "done"), Phrase("dun", "done")]) == []


def test_a_pair_that_sounds_alike_is_found() -> None:
    (found,) = confusions(
        [Phrase("note", "note"), Phrase("vote", "vote"), Phrase("hold the job", "hold the job")], 0.7
    )
    assert (found.one.text, found.other.text) == ("note", "vote")
    assert "sounds like" in str(found)


def test_the_commands_of_a_plain_step_are_far_enough_apart() -> None:
    asked_for_alone = (Command.YES, Command.NO, Command.WHAT_TOOLS)
    plain = [c for c in Command if c not in asked_for_alone]
    assert confusions(phrases_for(plain)) == []


def test_step_words_that_sound_like_a_command_are_found() -> None:
    commands = phrases_for(list(Command))
    found = sounds_like("skipped", commands)
    assert found is not None
    assert found.other.command == "skip"
    assert sounds_like("battery disconnected", commands) is None


def test_phonemes_have_no_marks_of_stress() -> None:
    assert phonemes("battery") == phonemes("battery").translate({ord(c): None for c in "ˈˌː"})
