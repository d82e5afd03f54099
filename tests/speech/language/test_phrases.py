"""What can be said, and that all of it can be typed."""

from datetime import timedelta

import pytest

from companion.errors import CompanionError
from companion.job.facts.commands import Command
from companion.job.facts.said.given import Count, Length, Measured, SpokenState, Thing, Words
from companion.job.rules.expected import Expecting
from companion.speech.language.phrases import LARGEST_COUNT, Phrase, language, noted, parse_typed, phrases_for

NEVER_FIXED = {
    *(Command.STATE, Command.READING, Command.COUNT, Command.DURATION, Command.WORDS, Command.STEP)
}
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
    assert phrase == Phrase("battery disconnected", "state", SpokenState("Battery disconnected"))


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
    assert (found.command, found.arguments) == (command, arguments)


@pytest.mark.parametrize("typed", ["no", "No!", "no, no", "scratch that", "undo", "Help", "repeat", "done",
                                   "stop talking", "hold the job", "stop work", "STOP WORK stop work",
                                   "what size", "skip", "yes"])  # fmt: skip
def test_a_command_typed_by_itself_is_never_the_mechanics_own_words(typed: str) -> None:
    found = parse_typed(typed, (), free_speech=True)
    assert found is not None
    assert found.command != Command.WORDS
    assert found.given is None


@pytest.mark.parametrize(
    "typed", ["no time for it", "done by Ana", "help was needed", "stop work light is on"]
)
def test_what_only_opens_like_a_command_is_the_mechanics_own_words(typed: str) -> None:
    found = parse_typed(typed, (), free_speech=True)
    assert found == Phrase(typed.lower(), Command.WORDS, Words(typed))


@pytest.mark.parametrize(
    ("typed", "command"),
    [("skip no", "skip"), ("note: scratch that", "note"), ("waiting for the repeat", "waiting for a part"),
     ("note stop work", "stop work")],
)  # fmt: skip
def test_a_command_after_a_command_is_neither_a_reason_nor_a_note(typed: str, command: str) -> None:
    found = parse_typed(typed, ())
    assert found is not None
    assert (found.command, found.given) == (command, None)


@pytest.mark.parametrize("typed", ["state", "count", "reading", "duration", "words"])
def test_the_name_of_a_kind_of_answer_is_no_answer(typed: str) -> None:
    """Typing "state" must not pass a step that wants a spoken state."""
    can = phrases_for([Command.DONE], ["battery disconnected"], number=3, durations=True)
    assert parse_typed(typed, can, reading="V") is None


def test_typed_answers_follow_the_question() -> None:
    assert parse_typed("12.6", (), reading="V") == Phrase("12 6", "reading", Measured(12.6, "V"))
    assert parse_typed("25 minutes", phrases_for([], durations=True)).given == Length(timedelta(minutes=25))
    assert parse_typed("4", phrases_for([], number=4)).given == Count(4)
    words = parse_typed("It was Loose.", (), free_speech=True)
    assert words is not None
    assert words.given == Words("It was Loose.")


@pytest.mark.parametrize(
    "typed", ["", "  ", "...", "dun", "skipping rope", "notebook", "start a timer for blue"]
)
def test_what_means_nothing_is_nothing(typed: str) -> None:
    assert parse_typed(typed, EVERYTHING) is None


def test_an_unknown_language_is_told_with_the_known_ones() -> None:
    with pytest.raises(CompanionError, match=r"'tlh'.*en, ko"):
        language("tlh")


def test_what_can_be_left_out_is_listened_for_by_its_name() -> None:
    can = Expecting((Command.DONE, Command.LEAVE_OUT), leaves_out=("oil strainer",))
    phrases = language().that_answer(can)
    named = Phrase("leave the oil strainer out", "leave it out", Thing("oil strainer"))
    assert named in phrases
    assert parse_typed("Leave the oil strainer out.", phrases) == named
    assert not [p for p in language("ko").that_answer(can) if p.command == Command.LEAVE_OUT]


@pytest.mark.parametrize("typed", ["leave the strainer out", "Leave strainer out!"])
def test_a_thing_is_left_out_typed_by_any_of_its_names(typed: str) -> None:
    """What cannot be left out now is understood too, so that the job can say why not."""
    found = parse_typed(typed, ())
    assert found is not None
    assert (found.command, found.arguments) == ("leave it out", {"item": "strainer"})


def test_leaving_nothing_out_means_nothing() -> None:
    assert parse_typed("leave out", ()) is None


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ("of a bracket is cracked", "a bracket is cracked"),
        ("a note of the left bolt", "the left bolt"),
        ("off by two millimetres", "off by two millimetres"),
        ("that bolt is loose", "that bolt is loose"),
        ("of", "of"),
    ],
)
def test_a_note_does_not_begin_with_what_is_left_of_its_opening(written: str, kept: str) -> None:
    assert noted(written) == kept


def test_a_note_in_one_breath_is_kept_without_it() -> None:
    phrase = parse_typed("take a note of a bracket is cracked", phrases_for([Command.NOTE]))
    assert phrase is not None
    assert phrase.given == Words("a bracket is cracked")
