"""What can be said, and that all of it can be typed."""

import pytest

from companion.errors import CompanionError
from companion.job.facts.commands import Command
from companion.speech.language.phrases import LARGEST_COUNT, Phrase, language, parse_typed, phrases_for

NEVER_FIXED = {Command.STATE, Command.READING, Command.COUNT, Command.DURATION, Command.WORDS}
EVERYTHING = phrases_for(set(Command) - NEVER_FIXED)


def test_every_fixed_command_can_be_said() -> None:
    assert {p.command for p in EVERYTHING} == {c.value for c in Command} - {c.value for c in NEVER_FIXED}


def test_the_plain_words_of_a_command_mean_that_command() -> None:
    spoken = {p.text: p.command for p in EVERYTHING}
    for command in set(Command) - NEVER_FIXED:
        assert spoken[command.value] == command


def test_no_two_commands_share_their_words() -> None:
    texts = [p.text for p in EVERYTHING]
    assert len(texts) == len(set(texts))


def test_a_state_keeps_its_words_as_argument() -> None:
    (phrase,) = phrases_for([], ["Battery disconnected"])
    assert phrase == Phrase("battery disconnected", "state", (("state", "Battery disconnected"),))


def test_a_count_listens_for_its_neighbours_too() -> None:
    assert [p.text for p in phrases_for([], number=4)] == ["three", "four", "five"]
    assert [p.text for p in phrases_for([], number=1)] == ["one", "two"]


def test_counting_goes_beyond_the_listed_words() -> None:
    assert language().counted(42) == "forty two"
    with pytest.raises(ValueError, match="61"):
        language().counted(LARGEST_COUNT + 1)


def test_every_phrase_works_typed() -> None:
    everything = (*EVERYTHING, *phrases_for([], ["battery disconnected"], number=3, durations=True))
    for phrase in everything:
        assert parse_typed(phrase.text.upper() + "!", everything) == phrase


@pytest.mark.parametrize(
    ("typed", "command", "arguments"),
    [
        ("note: bracket is cracked", "note", {"text": "bracket is cracked"}),
        ("Note that the bolt was loose.", "note", {"text": "the bolt was loose."}),
        ("skip, because the bolt is seized", "skip", {"reason": "the bolt is seized"}),
        ("skip because it is seized", "skip", {"reason": "it is seized"}),
        ("start a timer for ten minutes", "start a timer", {"minutes": "10"}),
        ("timer for 90 s", "start a timer", {"minutes": "1.5"}),
        ("undo", "undo", {}),
    ],
)
def test_commands_in_one_breath_work_typed(typed: str, command: str, arguments: dict[str, str]) -> None:
    found = parse_typed(typed, ())
    assert found is not None
    assert (found.command, dict(found.arguments)) == (command, arguments)


def test_typed_answers_follow_the_question() -> None:
    assert parse_typed("12.6", (), reading="V") == Phrase(
        "12 6", "reading", (("value", "12.6"), ("unit", "V"))
    )
    assert dict(parse_typed("25 minutes", phrases_for([], durations=True)).arguments) == {"minutes": "25"}  # type: ignore[union-attr]
    assert dict(parse_typed("4", phrases_for([], number=4)).arguments) == {"number": "4"}  # type: ignore[union-attr]
    words = parse_typed("It was Loose.", (), free_speech=True)
    assert words is not None
    assert dict(words.arguments) == {"text": "It was Loose."}


@pytest.mark.parametrize(
    "typed", ["", "  ", "...", "dun", "skipping rope", "notebook", "start a timer for blue"]
)
def test_what_means_nothing_is_nothing(typed: str) -> None:
    assert parse_typed(typed, EVERYTHING) is None


def test_an_unknown_language_is_told_with_the_known_ones() -> None:
    with pytest.raises(CompanionError, match=r"'tlh'.*en, ko"):
        language("tlh")
