"""The ear on whole streams: what is cut, when it ends, and what is taken for what."""

from datetime import timedelta

import numpy as np
import pytest

from companion.job.facts.commands import Command
from companion.job.facts.said.given import Measured
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_samples
from companion.speech.hearing.utterance import Hearing
from companion.speech.language.phrases import phrases_for
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.recognisers.scripted import ScriptedRecogniser
from companion.speech.sound.samples import FRAME_TIME
from tests.helpers.sounds import Talker

PLAIN = phrases_for(
    (Command.DONE, Command.REPEAT, Command.GO_BACK, Command.NOTE, Command.SKIP, Command.START_TIMER,
     Command.STOP_TALKING, Command.STOP_WORK)
)  # fmt: skip
CONTROLS = phrases_for((Command.NO, Command.SCRATCH_THAT, Command.UNDO, Command.HELP, Command.REPEAT,
                        Command.STOP_TALKING, Command.HOLD, Command.STOP_WORK, Command.GO_BACK, Command.NOTE,
                        Command.DONE, Command.MORE, Command.WHERE))  # fmt: skip


def accepted(hearings: list[Hearing]) -> list[str]:
    found = [h.judgement for h in hearings if h.judgement.verdict is Verdict.ACCEPTED]
    return [j.phrase.text for j in found if j.phrase]


@pytest.fixture
def ear(embedded: EmbeddedRecogniser) -> Ear:
    ear = Ear(embedded)
    ear.expect(PLAIN)
    return ear


def test_commands_come_out_in_order_and_in_their_place(ear: Ear, talker) -> None:
    stream = talker.stream(0.7, "go back", 1.0, "repeat", 1.0)
    hearings = list(hear_samples(stream, ear))
    assert accepted(hearings) == ["go back", "repeat"]
    first = len(talker.say("go back")) / 16_000
    assert hearings[0].start.total_seconds() == pytest.approx(0.7, abs=0.12)
    assert hearings[0].end.total_seconds() == pytest.approx(0.7 + first, abs=0.15)


def test_the_same_frames_give_the_same_hearings(ear: Ear, talker) -> None:
    stream = talker.stream(0.5, "done", 0.8, "take a note the left bolt is loose", 1.5, "stop work")
    assert list(hear_samples(stream, ear)) == list(hear_samples(stream, ear))


def test_speech_cut_off_by_the_end_of_the_stream_is_still_heard(ear: Ear, talker) -> None:
    assert accepted(list(hear_samples(talker.stream(0.5, "go back"), ear))) == ["go back"]


def test_a_command_inside_a_sentence_is_not_a_command(ear: Ear, talker) -> None:
    stream = talker.stream(0.5, "I told him to go back and repeat the whole thing", 1.5)
    assert accepted(list(hear_samples(stream, ear))) == []


def test_a_command_ends_after_a_third_of_a_second(talker) -> None:
    ear = Ear(ScriptedRecogniser(["go back"]))
    ear.expect(PLAIN)
    for frame in cut_in_frames(talker.stream(0.5, "go back", 1.0)):
        if hearings := ear.feed(frame):
            break
    waited = ear.now - hearings[0].end
    assert timedelta(milliseconds=300) <= waited <= timedelta(milliseconds=400)
    assert hearings[0].latency >= waited


def test_dictation_bridges_a_pause_of_most_of_a_second(talker) -> None:
    ear = Ear(ScriptedRecogniser(["the bolt was loose and the washer was missing"]))
    ear.expect(PLAIN, dictation=True)
    hearings = list(hear_samples(talker.stream(0.5, "the bolt was loose", 0.8, "and gone", 2.0), ear))
    assert len(hearings) == 1
    phrase = hearings[0].judgement.phrase
    assert phrase is not None
    assert (phrase.command, hearings[0].transcript) == (
        "words",
        "the bolt was loose and the washer was missing",
    )


def test_stop_work_cuts_through_a_dictation(talker) -> None:
    ear = Ear(ScriptedRecogniser(["stop work"]))
    ear.expect(phrases_for([Command.STOP_WORK]), dictation=True)
    assert accepted(list(hear_samples(talker.stream(0.5, "stop work", 2.0), ear))) == ["stop work"]


def in_a_note(lines: list[str], *stream: str | float, talker) -> list[Hearing]:
    """What is heard while a note is wanted, by a recogniser that knows what is said."""
    ear = Ear(ScriptedRecogniser(lines))
    ear.expect(CONTROLS, dictation=True)
    return list(hear_samples(talker.stream(*stream), ear))


@pytest.mark.parametrize("line", ["no", "undo", "scratch that", "help", "go back"])
def test_a_command_by_itself_is_no_note(talker, line) -> None:
    assert accepted(in_a_note([line], 0.5, line, 2.0, talker=talker)) == [line]


@pytest.mark.parametrize(("line", "command"), [("No, no.", "no"), ("Stop work. Fire!", "stop work")])
def test_a_command_that_was_only_written_down_is_no_note_either(talker, line, command) -> None:
    (hearing,) = in_a_note([line], 0.5, line, 2.0, talker=talker)
    assert hearing.judgement.phrase is not None
    assert hearing.judgement.phrase.command == command


def test_an_unclear_stop_work_is_not_taken_for_a_note(talker) -> None:
    (hearing,) = in_a_note(["stop work?"], 0.5, "stop work", 2.0, talker=talker)
    assert (hearing.judgement.verdict, hearing.judgement.phrase.text) == (Verdict.UNSURE, "stop work")


def test_a_note_may_open_with_what_is_a_command_by_itself(embedded, talker) -> None:
    ear = Ear(embedded)
    ear.expect(CONTROLS, dictation=True)
    stream = talker.stream(0.5, "no", 0.7, "the bracket is cracked on the left", 2.0)
    (hearing,) = hear_samples(stream, ear)
    assert hearing.judgement.phrase is not None
    assert hearing.judgement.phrase.command == Command.WORDS


def test_a_command_by_itself_is_told_from_a_note_by_its_sound(embedded, talker) -> None:
    ear = Ear(embedded)
    ear.expect(CONTROLS, dictation=True)
    stream = talker.stream(0.5, "scratch that", 2.0, "hold the job", 2.0, "the left bolt is worn", 2.0)
    commands = [h.judgement.phrase.command for h in hear_samples(stream, ear) if h.judgement.phrase]
    assert commands == [Command.SCRATCH_THAT, Command.HOLD, Command.WORDS]


def test_a_note_that_could_not_be_written_down_is_kept_all_the_same(talker) -> None:
    ear = Ear(ScriptedRecogniser())
    ear.expect(PLAIN, dictation=True)
    (hearing,) = hear_samples(talker.stream(0.5, "mumble mumble", 2.0), ear)
    assert hearing.judgement.verdict is Verdict.ACCEPTED
    assert hearing.transcript == ""
    assert hearing.clip.duration > timedelta(seconds=0.5)


def test_a_note_without_an_end_is_kept_as_far_as_a_note_can_go() -> None:
    """Somebody talks on and on, or a radio does: what follows is no part of it.

    It is a voice of its own: what espeak-ng has said colours what it says next, and the others know theirs.
    """
    talker = Talker()
    ear = Ear(ScriptedRecogniser(["the bracket is cracked"]))
    ear.expect(PLAIN, dictation=True)
    breath = "the bracket is cracked on the left and the lower bolt is worn"
    first, *_ = hear_samples(talker.stream(0.5, *[breath] * 11, 2.0), ear)
    talker.close()
    assert timedelta(seconds=28) < first.clip.duration < timedelta(seconds=31)
    assert first.transcript == "the bracket is cracked"


@pytest.mark.parametrize(
    ("said", "command", "argument"),
    [
        ("take a note, the left bolt is loose", "note", ("text", "the left bolt is loose")),
        ("start a timer for ten minutes", "start a timer", ("minutes", "10")),
    ],
)
def test_a_command_and_its_words_in_one_breath(ear: Ear, talker, said, command, argument) -> None:
    (hearing,) = hear_samples(talker.stream(0.5, said, 2.0), ear)
    phrase = hearing.judgement.phrase
    assert phrase is not None
    assert phrase.command == command
    ((name, text),) = phrase.arguments.items()
    assert (name, text.lower().strip(".").removeprefix("of ")) == argument


def test_a_measured_value_is_read_in_its_unit(ear: Ear, talker) -> None:
    ear.expect(PLAIN, reading="V")
    (hearing,) = hear_samples(talker.stream(0.5, "twelve point six volts", 1.0), ear)
    assert hearing.judgement.phrase is not None
    assert hearing.judgement.phrase.given == Measured(12.6, "V")


def test_while_it_speaks_few_commands_are_live(talker) -> None:
    for line, heard in (("go back", []), ("stop talking", ["stop talking"])):
        ear = Ear(ScriptedRecogniser([line] * 3))
        ear.expect(PLAIN)
        ear.companion_speaking("Remove the six bolts.")
        assert accepted(list(_all(ear, talker.stream(0.5, line, 1.0)))) == heard


def test_unsure_over_its_voice_it_falls_silent_and_does_nothing_else(talker) -> None:
    for line, heard in (("stop talking?", ["stop talking"]), ("stop work?", ["stop work"]), ("done?", [])):
        ear = Ear(ScriptedRecogniser([line] * 3))
        ear.expect(PLAIN)
        ear.companion_speaking("Remove the six bolts.")
        assert accepted(list(_all(ear, talker.stream(0.5, "stop talking", 1.0)))) == heard
        ear = Ear(ScriptedRecogniser([line] * 3))
        ear.expect(PLAIN)
        assert accepted(list(_all(ear, talker.stream(0.5, "stop talking", 1.0)))) == [], "in silence it asks"


def test_a_bare_stop_is_obeyed_over_its_voice_when_sure_and_not_when_it_may_be_its_own_step(talker) -> None:
    for line, heard in (("stop", ["stop"]), ("stop?", [])):
        ear = Ear(ScriptedRecogniser([line] * 3))
        ear.expect(phrases_for([Command.STOP, Command.STOP_WORK]))
        ear.companion_speaking("Step seven: remove the six bolts.")
        assert accepted(list(_all(ear, talker.stream(0.5, "stop", 1.0)))) == heard


def test_it_never_obeys_what_it_is_itself_saying(talker) -> None:
    ear = Ear(ScriptedRecogniser(["stop talking"]))
    ear.expect(PLAIN)
    ear.companion_speaking("Say stop talking when you have heard enough.")
    assert accepted(list(_all(ear, talker.stream(0.5, "stop talking", 1.0)))) == []


def test_the_tail_of_its_own_voice_is_guarded_and_then_all_is_live(talker) -> None:
    ear = Ear(ScriptedRecogniser(["go back"]))
    ear.expect(PLAIN)
    stream = talker.stream(0.5, "go back", 1.0)
    assert accepted(list(_all(ear, stream, speaks=(0.0, 0.7)))) == [], "it began while it spoke"
    assert accepted(list(_all(ear, stream, speaks=(0.0, 0.49)))) == ["go back"], "a quick answer"


def test_a_word_that_ends_within_the_tail_is_the_tail(talker) -> None:
    ear = Ear(ScriptedRecogniser(["go back"]))
    ear.expect(PLAIN)
    ear.companion_speaking("Remove the six bolts.")
    ear.companion_speaking(None)
    cut_short = talker.stream(0.02, "go back")[: round(0.35 * 16_000)]
    assert accepted(list(_all(ear, np.concatenate([cut_short, np.zeros(16_000, np.float32)])))) == []


def test_a_note_that_something_urgent_speaks_over_is_not_lost(talker) -> None:
    ear = Ear(ScriptedRecogniser(["the bolt was loose"]))
    ear.expect(phrases_for([Command.STOP_WORK]), dictation=True)
    stream = talker.stream(0.3, "the left bolt was loose", 3.0)
    (hearing,) = _all(ear, stream, speaks=(0.8, 3.4))
    assert hearing.transcript == "the bolt was loose"


def test_a_note_begun_too_early_is_not_lost(talker) -> None:
    ear = Ear(ScriptedRecogniser(["the bolt was loose"]))
    ear.expect(phrases_for([Command.STOP_WORK]), dictation=True)
    stream = talker.stream(0.3, "the left bolt was loose", 2.0)
    (hearing,) = _all(ear, stream, speaks=(0.0, 0.6))
    assert hearing.transcript == "the bolt was loose"
    assert hearing.clip.duration > timedelta(seconds=0.8)


def test_a_far_radio_counts_less_than_a_near_mouth(talker) -> None:
    ear = Ear(ScriptedRecogniser(["done"] * 5))
    ear.expect(PLAIN)
    near = talker.stream(*[0.6, "done"] * 3, 0.6)
    far = np.concatenate([0.03 * talker.stream(0.6, "done", 0.6), talker.stream(0.6, "done", 0.6)])
    assert len(accepted(list(_all(ear, near)))) == 3
    assert len(accepted(list(_all(ear, far)))) == 1


def test_an_attention_word_must_open_every_command_but_the_emergency(talker) -> None:
    ear = Ear(ScriptedRecogniser(["done", "toolbox done", "stop work"]), attention="toolbox")
    ear.expect(PLAIN)
    assert accepted(list(hear_samples(talker.stream(0.5, "done", 0.8), ear))) == []
    ear.recogniser.transcribe(hearing_clip(talker))
    heard = accepted(list(hear_samples(talker.stream(0.5, "toolbox done", 0.8, "stop work", 0.5), ear)))
    assert heard == ["toolbox done", "stop work"]


def test_a_frame_of_the_wrong_length_is_refused(embedded: EmbeddedRecogniser) -> None:
    with pytest.raises(ValueError, match="512"):
        Ear(embedded).feed(np.zeros(100, np.float32))


def hearing_clip(talker):
    return talker.alone("done")


def _all(ear: Ear, samples, speaks: tuple[float, float] | None = None):
    """All that is heard; the companion speaks from one second to another."""
    began = ear.now
    for frame in cut_in_frames(samples):
        at = (ear.now - began).total_seconds()
        if speaks and abs(at - speaks[0]) < 0.016:
            ear.companion_speaking("Remove the six bolts.")
        if speaks and abs(at - speaks[1]) <= 0.016:
            ear.companion_speaking(None)
        yield from ear.feed(frame)
    assert ear.now >= FRAME_TIME
