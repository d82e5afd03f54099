"""A loudspeaker that stalls, goes away, comes back and loses sound: nothing that is said is lost over it."""

from pathlib import Path

import numpy as np
import pytest

from companion.errors import SoundError
from companion.job.facts.sayings import Priority, Tone
from companion.speech.devices import device_player, sound_process
from companion.speech.devices.device_player import Feed, SoundDevicePlayer
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.tones import tone
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.samples import RATE
from tests.helpers.card import SoundCard
from tests.helpers.waiting import until
from tests.speech.fakes import NotedVoice, told

SHORT = 0.4
"""Seconds in place of the patience that real devices need."""


@pytest.fixture
def card(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SoundCard:
    return SoundCard(tmp_path, monkeypatch)


@pytest.fixture
def voice() -> NotedVoice:
    return NotedVoice()


@pytest.fixture
def mouth(voice: NotedVoice) -> Mouth:
    return Mouth(voice)


@pytest.fixture
def player(mouth: Mouth, tmp_path: Path, card: SoundCard):
    player = SoundDevicePlayer(mouth, "headset", tmp_path / "sound.log")
    yield player
    player.close()


def spoken(card: SoundCard, voice: NotedVoice, text: str) -> bool:
    """Whether the sentence came out whole."""
    return f"{text} 0.5" in voice.heard(card.played())


def test_what_is_said_comes_out(player, mouth, voice, card) -> None:
    player.start()
    mouth.say("a", "One.")
    until(lambda: spoken(card, voice, "One."))
    assert player.watch() is None
    (news,) = player.news()
    assert "headset" in news
    assert "100 ms late" in news
    assert player.news() == [], "told once"


def test_a_sentence_that_broke_off_is_begun_again_when_the_device_is_back(player, mouth, voice, card) -> None:
    player.start()
    mouth.say("a", "One. Two.")
    until(lambda: mouth.speaking == "Two.")
    with card.being("unplugged"):
        until(lambda: not spoken(card, voice, "Two.") and player.gone)
    until(lambda: spoken(card, voice, "Two.") and mouth.idle)
    assert player.reopened == 1
    assert told(mouth.events()) == ["Started a", "Finished a"]
    assert player.watch() is None


def test_a_device_that_stops_taking_sound_is_opened_again(player, mouth, voice, card, monkeypatch) -> None:
    monkeypatch.setattr(device_player, "STALLED", SHORT)
    player.start()
    with card.being("stuck"):
        until(lambda: player.gone)
    mouth.say("a", "One.")
    until(lambda: spoken(card, voice, "One."))


def test_away_for_long_is_told_with_the_log_and_what_is_said_is_reported(
    player, mouth, voice, card, tmp_path, monkeypatch
) -> None:
    monkeypatch.setattr(device_player, "GIVES_UP", SHORT)
    player.start()
    card.is_now("unplugged")
    fault = until(player.watch)
    assert str(tmp_path / "sound.log") in fault
    mouth.say("d", "Stop.", Priority.DANGER)
    assert told(mouth.events()) == ["Failed d"]
    card.is_well()
    until(lambda: player.watch() is None)
    mouth.say("d", "Stop.", Priority.DANGER)
    until(lambda: spoken(card, voice, "Stop."))


def test_a_device_that_loses_sound_gets_a_longer_buffer_to_a_limit(player, card) -> None:
    player.start()
    assert player.latency == 0.1
    card.is_now("hurried")
    until(lambda: player.latency == 0.2)
    assert any("its buffer is 150 ms" in line for line in player.news())
    assert player.losses >= 2


def test_what_is_urgent_begins_within_three_tenths_of_a_second_of_sound(player, mouth, voice, card) -> None:
    """Counted in samples that the device had been given but not yet played when it was said."""
    player.start()
    mouth.say("a", "One. Two. Three.")
    until(lambda: mouth.speaking == "Two.")
    before = len(card.played())
    mouth.say("d", "Stop.", Priority.DANGER)
    until(lambda: spoken(card, voice, "Stop."))
    after = card.played()[before:]
    wanted = tone(Tone.DANGER)[:400]
    at = next(i for i in range(len(after)) if np.allclose(after[i : i + 400], wanted, atol=1e-3))
    assert at / RATE + device_player.worker.MOST_LATENCY <= 0.3 + 0.05, (
        "waiting blocks and the longest buffer"
    )


def test_a_device_that_is_not_there_is_one_clear_line(mouth: Mouth, card: SoundCard) -> None:
    with pytest.raises(SoundError, match=r"no loudspeaker 'moon base'.*--keys --quiet") as error:
        SoundDevicePlayer(mouth, "moon base").start()
    assert "\n" not in str(error.value)


def test_one_that_was_never_started_takes_no_sound(mouth: Mouth) -> None:
    player = SoundDevicePlayer(mouth)
    assert player.watch()
    mouth.say("d", "Stop.", Priority.DANGER)
    assert told(mouth.events()) == ["Failed d"]


@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_a_device_of_another_rate_hears_the_same_note(rate: int) -> None:
    mouth = Mouth(SilentVoice())
    mouth.say("t", "", tone=Tone.HEARD)
    feed = Feed(mouth, rate)
    samples = np.concatenate([feed.take(441) for _ in range(rate // 441)])
    loudest = np.argmax(np.abs(np.fft.rfft(samples))) * rate / len(samples)
    assert loudest == pytest.approx(1500, abs=20)
    energy = float(np.sum(np.square(samples))) / rate
    assert energy == pytest.approx(float(np.sum(np.square(tone(Tone.HEARD)))) / RATE, rel=0.02)


def test_a_log_that_has_grown_long_is_begun_anew(card: SoundCard, tmp_path: Path, monkeypatch) -> None:
    log = tmp_path / "sound.log"
    log.write_text("underrun occurred\n" * 3)
    monkeypatch.setattr(sound_process, "_LOG_HOLDS", 100)
    sound_process.SoundProcess("list", log=log).close()
    assert log.stat().st_size, "not yet"
    monkeypatch.setattr(sound_process, "_LOG_HOLDS", 10)
    sound_process.SoundProcess("list", log=log).close()
    assert not log.stat().st_size
