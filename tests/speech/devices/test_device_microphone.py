"""A microphone that goes away and comes back, and one that loses sound."""

from collections.abc import Iterator
from pathlib import Path
from threading import Thread

import numpy as np
import pytest

from companion.errors import SoundError
from companion.speech.devices import device_microphone
from companion.speech.devices.device_microphone import SoundDeviceMicrophone
from companion.speech.devices.looked_at import LookedAt
from companion.speech.devices.microphone import Microphone, MicrophoneLostError
from companion.speech.sound.samples import FRAME, RATE, Samples
from tests.helpers.card import SoundCard
from tests.helpers.sounds import write_wav
from tests.helpers.waiting import until
from tests.speech.fakes import tone

SHORT = 0.4


@pytest.fixture
def card(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SoundCard:
    return SoundCard(tmp_path, monkeypatch)


@pytest.fixture
def microphone(card: SoundCard, tmp_path: Path) -> Iterator[SoundDeviceMicrophone]:
    microphone = SoundDeviceMicrophone("headset", tmp_path / "sound.log")
    yield microphone
    microphone.close()


def heard(microphone: Microphone) -> list[Samples]:
    """What it hears, as it comes."""
    frames: list[Samples] = []

    def listen() -> None:
        for frame in microphone.frames():
            frames.append(frame)

    Thread(target=listen, daemon=True).start()
    return frames


def test_what_is_said_is_heard_in_frames(microphone, tmp_path: Path) -> None:
    frames = heard(microphone)
    until(lambda: frames)
    write_wav(tmp_path / "being made", tone(RATE).astype(np.float32)).rename(tmp_path / "1.wav")
    until(lambda: sum(float(np.abs(frame).max()) > 0.4 for frame in frames) >= 10)
    assert {len(frame) for frame in frames} == {FRAME}
    assert microphone.overflows == microphone.reopened == 0


def test_one_that_comes_back_soon_is_only_counted_and_told(microphone, card, tmp_path) -> None:
    told: list[str] = []
    looked_at = LookedAt(microphone, told.append, lambda: False)
    frames = heard(looked_at)
    until(lambda: frames)
    with card.being("unplugged"):
        until(lambda: microphone.gone)
    before = len(frames)
    until(lambda: len(frames) > before)
    assert microphone.reopened == 1
    assert told == ["The microphone was away for a moment. Say again what I did not answer."]


def test_one_that_stays_away_is_lost_and_the_log_is_named(microphone, card, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(device_microphone, "COMES_BACK", SHORT)
    card.is_now("unplugged")
    with pytest.raises(MicrophoneLostError, match=r"headset stopped delivering.*keys.*sound\.log"):
        list(microphone.frames())


def test_one_that_gives_nothing_is_opened_again(microphone, card, monkeypatch) -> None:
    monkeypatch.setattr(device_microphone, "SILENT", SHORT)
    frames = heard(microphone)
    until(lambda: frames)
    with card.being("stuck"):
        until(lambda: microphone.gone)
    until(lambda: microphone.reopened == 1)


def test_lost_sound_is_counted(microphone, card) -> None:
    frames = heard(microphone)
    until(lambda: frames)
    card.is_now("hurried")
    until(lambda: microphone.overflows >= 3)


def test_without_a_microphone_the_way_out_is_told(card) -> None:
    with pytest.raises(SoundError, match=r"no microphone 'moon base'.*hear --devices.*--keys"):
        SoundDeviceMicrophone("moon base")
    card.is_now("unplugged")
    with pytest.raises(SoundError, match=r"no microphone was found.*--keys"):
        SoundDeviceMicrophone()
