"""Which phrases sound alike."""

from dataclasses import replace
from pathlib import Path

import pytest

from companion.job.facts.commands import Command
from companion.job.facts.said.log_map import question_in
from companion.job.facts.state import State
from companion.job.rules.expected import expected
from companion.procedure.read import read_procedure
from companion.speech.language.confusion import confusions, likeness, phonemes, sounds_like
from companion.speech.language.phrases import Phrase, language, phrases_for
from tests.written.logs import QUESTIONS

PROCEDURES = Path(__file__).parents[3] / "procedures"


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


def test_what_is_listened_for_together_is_far_enough_apart_at_every_point_of_a_job() -> None:
    """The tools and the torque are asked for alike; whichever is heard, nothing moves."""
    procedure = read_procedure(PROCEDURES / "front-brakes.yaml")
    state = State(procedure, job="job", current=procedure.steps[0].id)
    states = [state, replace(state, held=True), replace(state, current=None), replace(state, fresh_note=1)]
    about = {
        "energy": next(iter(procedure.energy)),
        "step": procedure.steps[0].id,
        "part": "",
        "deadline": "",
        "command": "go back",
        "value": "1",
        "unit": "V",
        "minutes": "10",
    }
    states += [
        replace(s, question=question_in(name, about)) for s in (state, states[1]) for name in QUESTIONS
    ]
    known = {("what torque", "what tools")}
    for moment in states:
        can = expected(moment)
        found = confusions(language().that_answer(can))
        alike = {(c.one.text, c.other.text) for c in found if c.one.command != c.other.command}
        assert alike <= known, (moment.question, moment.held)


def test_step_words_that_sound_like_a_command_are_found() -> None:
    commands = phrases_for(list(Command))
    found = sounds_like("skipped", commands)
    assert found is not None
    assert found.other.command == "skip"
    assert sounds_like("battery disconnected", commands) is None


def test_phonemes_have_no_marks_of_stress() -> None:
    assert phonemes("battery") == phonemes("battery").translate({ord(c): None for c in "ˈˌː"})
