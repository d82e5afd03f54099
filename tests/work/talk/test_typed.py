"""What people type is understood as they mean it, also what the ear does not listen for."""

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command, When
from companion.job.rules.expected import Expecting
from companion.speech.language.confusion import sounds_like
from companion.speech.language.phrases import language, phrases_for
from companion.work.inbox import Typed
from companion.work.keys import understood

ALWAYS = [command for command in Command if When.CLOSED in command.row.when]
PLAIN = Expecting((Command.DONE, Command.GO_BACK, Command.HOLD, *ALWAYS))
IN_WORDS = Expecting((Command.NO, Command.DONE), free_speech=True)
MEANT = {
    "next": Command.DONE,
    "ok": Command.DONE,
    "Okay.": Command.DONE,
    "yep": Command.YES,
    "yeah": Command.YES,
    "nope": Command.NO,
    "never mind": Command.NO,
    "pause": Command.HOLD,
    "back": Command.GO_BACK,
    "stop": Command.STOP,
    "what's the torque": Command.WHAT_TORQUE,
    "What’s the size?": Command.WHAT_SIZE,
    "what's next": Command.WHAT_IS_NEXT,
    "what is next": Command.WHAT_IS_NEXT,
    "what's open": Command.WHAT_IS_OPEN,
    "what's left": Command.WHAT_IS_OPEN,
    "which tools": Command.WHAT_TOOLS,
    "continue": Command.CARRY_ON,
}


@pytest.mark.parametrize(("typed", "command"), MEANT.items())
@pytest.mark.parametrize("can", [PLAIN, IN_WORDS])
def test_it_means_the_command(typed, command, can):
    assert understood(Typed(typed), can) == msg.Heard(command, None, typed, "keys")


@pytest.mark.parametrize("typed", ["next", "ok", "okay", "finished"])
def test_it_passes_a_spoken_state_no_more_than_done_does(bench, typed):
    bench.begin("sump-reseal")
    session = bench.session
    while session.state.question:
        session.handle(msg.Heard(Command.YES))
    step = session.state.current
    assert session.state.step.needs_spoken_state
    events = session.handle(understood(Typed(typed), session.expecting()))
    assert [e.command for e in events if isinstance(e, ev.Refused)] == ["done"]
    assert session.state.current == step


def test_what_is_only_typed_is_not_listened_for():
    listened = {p.text for p in phrases_for(list(Command))}
    typed = {text for texts in language().typed.values() for text in texts}
    assert not listened & typed
    assert {"ok", "okay", "yeah", "nope"} <= typed


def test_each_word_means_one_thing():
    spoken = language()
    every = [(t, c) for part in (spoken.commands, spoken.typed) for c, texts in part.items() for t in texts]
    assert len({text for text, _ in every}) == len(every)
    names = {c.value for c in Command}
    assert not [(text, command) for text, command in every if text in names - {command.value}]


def test_nope_is_not_listened_for_because_it_sounds_like_note():
    found = sounds_like("nope", phrases_for([Command.NOTE]))
    assert found is not None


def test_a_language_without_typed_words_is_whole():
    assert language("ko").typed == {}
    assert understood(Typed("완료"), PLAIN, "ko").command is Command.DONE
