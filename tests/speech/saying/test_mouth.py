"""Who may speak when, measured on the samples that come out of the mouth."""

import threading
from datetime import timedelta

import numpy as np
import pytest

from companion.job.facts.sayings import Priority, Tone
from companion.speech.saying.happenings import Failed
from companion.speech.saying.mouth import FASTEST, LOUDEST, QUIETEST, SLOWEST, TRIES, Mouth
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.saying.tones import tone
from companion.speech.sound.samples import FRAME, RATE, Clip, Samples
from companion.speech.sound.shaping import SPEECH_LEVEL, decibels, level
from tests.helpers.waiting import PATIENCE, until
from tests.speech.fakes import HALF_SECOND, NotedVoice, all_of, told


@pytest.fixture
def voice() -> NotedVoice:
    return NotedVoice()


@pytest.fixture
def mouth(voice: NotedVoice) -> Mouth:
    return Mouth(voice)


def where(samples: Samples, wanted: Samples) -> int:
    """The sample at which `wanted` begins, or -1: it must be there as it is."""
    for start in np.flatnonzero(np.isclose(samples, wanted[1], atol=1e-5)) - 1:
        part = samples[start : start + len(wanted)]
        if start >= 0 and len(part) == len(wanted) and np.allclose(part, wanted, atol=1e-4):
            return int(start)
    return -1


def test_it_is_quiet_when_there_is_nothing_to_say(mouth: Mouth) -> None:
    assert not mouth.pull(1000).any()
    assert mouth.speaking is None
    assert mouth.idle


def test_the_first_word_is_in_the_first_sample(mouth: Mouth) -> None:
    mouth.say("a", "One.")
    assert mouth.pull(10).all()


def test_sentences_follow_one_another_and_sayings_wait_their_turn(mouth: Mouth, voice: NotedVoice) -> None:
    mouth.say("a", "One. Two.")
    mouth.say("b", "Three.")
    assert voice.heard(all_of(mouth)) == ["One. 0.5", "Two. 0.5", "Three. 0.5"]
    assert told(mouth.events()) == ["Started a", "Finished a", "Started b", "Finished b"]
    assert mouth.events() == []


def test_it_tells_the_sentence_in_the_air(mouth: Mouth) -> None:
    mouth.say("a", "One. Two.")
    mouth.pull(100)
    assert mouth.speaking == "One."
    mouth.pull(HALF_SECOND + RATE // 4)
    assert mouth.speaking == "Two."
    all_of(mouth)
    assert mouth.speaking is None


def test_danger_interrupts_at_once_and_the_sentence_is_spoken_again(mouth: Mouth, voice: NotedVoice) -> None:
    mouth.say("a", "One. Two.")
    before = mouth.pull(HALF_SECOND * 2 // 5)
    mouth.say("d", "Stop.", Priority.DANGER)
    after = all_of(mouth)
    assert voice.heard(before) == ["One. 0.2"]
    assert voice.heard(after) == ["Stop. 0.5", "One. 0.5", "Two. 0.5"]
    assert 0 <= where(after, tone(Tone.DANGER)) <= RATE // 100, "its tone within 10 ms"
    assert told(mouth.events()) == ["Started a", "Started d", "Finished d", "Finished a"]


def test_danger_waits_for_danger(mouth: Mouth, voice: NotedVoice) -> None:
    mouth.say("d", "Stop.", Priority.DANGER)
    mouth.pull(RATE)
    mouth.say("e", "Get out.", Priority.DANGER)
    all_of(mouth)
    assert told(mouth.events()) == ["Started d", "Finished d", "Started e", "Finished e"]


def test_urgent_waits_for_the_end_of_the_sentence_only(mouth: Mouth, voice: NotedVoice) -> None:
    mouth.say("a", "One. Two.")
    mouth.say("b", "Three.")
    before = mouth.pull(1600)
    mouth.say("u", "Fit it now.", Priority.URGENT)
    after = all_of(mouth)
    assert voice.heard(np.concatenate([before, after])) == [
        "One. 0.5", "Fit it now. 0.5", "Two. 0.5", "Three. 0.5",
    ]  # fmt: skip
    assert where(after, tone(Tone.URGENT)) > HALF_SECOND - 1600
    assert told(mouth.events()) == [
        "Started a", "Started u", "Finished u", "Finished a", "Started b", "Finished b",
    ]  # fmt: skip


def test_danger_goes_before_waiting_urgent(mouth: Mouth) -> None:
    mouth.say("u", "Fit it now.", Priority.URGENT)
    mouth.say("d", "Stop.", Priority.DANGER)
    all_of(mouth)
    assert told(mouth.events()) == ["Started d", "Finished d", "Started u", "Finished u"]


def test_stop_cuts_the_routine_and_keeps_the_danger(mouth: Mouth) -> None:
    mouth.say("d", "Stop.", Priority.DANGER)
    mouth.say("a", "One. Two.")
    mouth.say("b", "Three.")
    mouth.say("u", "Fit it now.", Priority.URGENT)
    mouth.stop()
    all_of(mouth)
    assert told(mouth.events()) == [
        "Cut a", "Cut b", "Started d", "Finished d", "Started u", "Finished u",
    ]  # fmt: skip


def test_stop_is_quiet_within_ten_milliseconds(mouth: Mouth) -> None:
    mouth.say("a", "One.")
    mouth.pull(1000)
    mouth.stop()
    assert not mouth.pull(RATE)[RATE // 100 :].any()
    assert told(mouth.events()) == ["Started a", "Cut a"]


def test_stop_does_not_silence_a_danger_in_the_air(mouth: Mouth, voice: NotedVoice) -> None:
    mouth.say("d", "Stop.", Priority.DANGER)
    mouth.pull(1000)
    mouth.stop()
    assert voice.heard(all_of(mouth)) == ["Stop. 0.5"]
    assert told(mouth.events()) == ["Started d", "Finished d"]


@pytest.mark.parametrize("priority", [Priority.URGENT, Priority.DANGER])
def test_a_safety_saying_is_rendered_again_before_it_fails(priority: Priority) -> None:
    mouth = Mouth(NotedVoice({"Stop.": TRIES - 1}))
    mouth.say("d", "Stop.", priority)
    all_of(mouth)
    assert told(mouth.events()) == ["Started d", "Finished d"]


def test_what_could_not_be_said_is_reported_and_a_tone_tells_of_it() -> None:
    voice = NotedVoice({"One.": 1, "Stop.": TRIES})
    mouth = Mouth(voice)
    mouth.say("a", "One.")
    mouth.say("d", "Stop.", Priority.DANGER)
    mouth.say("b", "Two.")
    samples = all_of(mouth)
    happened = mouth.events()
    assert told(happened) == ["Started d", "Failed d", "Failed a", "Started b", "Finished b"]
    assert [event.reason for event in happened if isinstance(event, Failed)] == ["no breath"] * 2
    assert where(samples, tone(Tone.ERROR)) > 0
    assert voice.heard(samples) == ["Two. 0.5"]


def test_a_tone_can_stand_alone(mouth: Mouth) -> None:
    mouth.say("t", "", tone=Tone.CUE)
    assert where(all_of(mouth), tone(Tone.CUE)) == 0
    assert told(mouth.events()) == ["Started t", "Finished t"]


def test_the_tick_is_heard_at_once_over_speech(mouth: Mouth) -> None:
    mouth.say("a", "One.")
    mouth.pull(1000)
    mouth.sound(Tone.HEARD)
    tick = mouth.pull(2000) - np.float32(0.01)
    assert where(tick, tone(Tone.HEARD)) == 0


def test_volume_goes_in_steps_to_its_limits_and_never_clips(mouth: Mouth, voice: NotedVoice) -> None:
    mouth.say("a", "One.")
    first = mouth.pull(10)[0]
    assert mouth.louder() == 3
    assert mouth.pull(10)[0] == pytest.approx(first * decibels(3), rel=1e-5)
    for _ in range(20):
        mouth.louder()
    assert mouth.louder() == LOUDEST
    mouth.say("d", "Stop.", Priority.DANGER)
    loud = all_of(mouth)
    assert 0.8 < np.abs(loud).max() < 1.0
    for _ in range(20):
        mouth.quieter()
    assert mouth.quieter() == QUIETEST


def test_danger_is_never_quieter_than_at_the_start(mouth: Mouth) -> None:
    for _ in range(4):
        mouth.quieter()
    mouth.say("d", "Stop.", Priority.DANGER)
    assert where(all_of(mouth), tone(Tone.DANGER)) == 0


def test_the_pace_stays_between_its_limits_and_holds_from_the_next_sentence(voice: NotedVoice) -> None:
    mouth = Mouth(voice)
    assert [mouth.slower() for _ in range(6)] == [140, 130, 120, SLOWEST, SLOWEST, SLOWEST]
    mouth.say("a", "One. Two.")
    mouth.pull(10)
    assert [mouth.faster() for _ in range(11)][-1] == FASTEST
    all_of(mouth)
    assert voice.asked == [("One.", SLOWEST), ("Two.", FASTEST)]


@pytest.mark.parametrize("step", [1, 160, FRAME, 8000])
def test_how_it_is_pulled_changes_nothing(step: int) -> None:
    def spoken(step: int) -> Samples:
        mouth = Mouth(NotedVoice())
        mouth.say("a", "One. Two.", tone=Tone.CUE)
        return np.concatenate([mouth.pull(step) for _ in range(24_000 // step)])

    assert np.array_equal(spoken(step), spoken(24_000)[: 24_000 // step * step])


def test_in_the_background_pulling_does_not_wait_for_a_slow_render() -> None:
    may_go_on = threading.Event()

    class Slow(NotedVoice):
        def render(self, text: str, words_per_minute: int = 150) -> Clip:
            assert may_go_on.wait(PATIENCE)
            return super().render(text, words_per_minute)

    voice = Slow()
    mouth = Mouth(voice, background=True)
    mouth.say("a", "One.")
    assert not mouth.pull(RATE).any()
    mouth.say("d", "Stop.", Priority.DANGER)
    assert where(mouth.pull(RATE), tone(Tone.DANGER)) == 0, "the tone needs no voice"
    assert told(mouth.events()) == ["Started d"]
    may_go_on.set()
    happened: list[str] = []

    def said() -> bool:
        mouth.pull(FRAME)
        happened.extend(told(mouth.events()))
        return mouth.idle

    until(said, lambda: happened)
    assert happened == ["Finished d", "Started a", "Finished a"]
    mouth.close()


def test_closing_reports_what_was_left_unsaid(mouth: Mouth) -> None:
    mouth.say("a", "One.")
    mouth.pull(10)
    mouth.say("b", "Two.")
    mouth.close()
    mouth.say("c", "Three.")
    assert told(mouth.events()) == ["Started a", "Cut a", "Cut b", "Failed c"]
    assert not mouth.pull(100).any()


def test_a_real_voice_through_the_mouth_is_heard() -> None:
    mouth = Mouth(Pyttsx3Voice())
    mouth.say("a", "Step four done. Step five: drain the oil.")
    samples = all_of(mouth)
    mouth.close()
    assert len(samples) / RATE > timedelta(seconds=2).total_seconds()
    assert level(samples) == pytest.approx(SPEECH_LEVEL, abs=2)
    assert told(mouth.events()) == ["Started a", "Finished a"]


def test_what_broke_off_on_its_way_is_begun_again(mouth: Mouth, voice: NotedVoice) -> None:
    mouth.say("a", "One. Two.", tone=Tone.CUE)
    mouth.pull(len(tone(Tone.CUE)) + HALF_SECOND)
    mouth.again()
    samples = all_of(mouth)
    assert where(samples, tone(Tone.CUE)) == 0, "its tone too"
    assert voice.heard(samples) == ["One. 0.5", "Two. 0.5"]
    assert told(mouth.events()) == ["Started a", "Finished a"]


@pytest.mark.parametrize("text", ["One.", "One. Two."])
def test_a_sentence_that_ended_just_now_may_have_been_lost_too(text: str) -> None:
    """What was pulled last was not yet heard when the sound broke off."""
    mouth = Mouth(voice := NotedVoice())
    mouth.say("a", text)
    mouth.pull(HALF_SECOND + RATE // 10)
    mouth.again()
    assert voice.heard(all_of(mouth)) == [f"{sentence}. 0.5" for sentence in text.rstrip(".").split(". ")]


def test_nothing_is_begun_again_when_all_was_silent(mouth: Mouth, voice: NotedVoice) -> None:
    mouth.again()
    mouth.say("a", "One.")
    all_of(mouth)
    mouth.again()
    assert mouth.idle
