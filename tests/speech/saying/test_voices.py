"""Every voice keeps one contract; the worker process of the everyday voice survives being killed."""

import os
import signal
import sys
import threading
import time
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from companion.errors import VoiceError
from companion.speech.saying.cached_voice import CachedVoice
from companion.speech.saying.piper_voice import PiperVoice
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.saying.voice import SilentVoice, Voice
from companion.speech.sound.samples import Clip
from companion.speech.sound.shaping import SPEECH_LEVEL, level
from tests.helpers.sounds import PATIENT
from tests.helpers.waiting import PATIENCE, until

SENTENCE = (
    "Step four. Undo the six bolts of the pump cover, ten millimetre hex, and keep them in the marked bag."
)
WORDS = len(SENTENCE.split())


class VoiceContract:
    """What any voice does; each adapter below inherits this."""

    audible = True

    def test_speaks_mono_float_samples_under_full_scale(self, voice: Voice) -> None:
        samples = voice.render(SENTENCE).samples
        assert samples.dtype == np.float32
        assert samples.ndim == 1
        assert np.abs(samples).max() < 1.0

    def test_takes_about_as_long_as_the_pace_asks(self, voice: Voice) -> None:
        minutes = voice.render(SENTENCE, 150).duration / timedelta(minutes=1)
        assert 110 < WORDS / minutes < 200

    def test_a_slower_pace_takes_longer(self, voice: Voice) -> None:
        assert voice.render(SENTENCE, 110).duration > 1.3 * voice.render(SENTENCE, 200).duration

    def test_a_longer_sentence_takes_longer(self, voice: Voice) -> None:
        assert voice.render(SENTENCE).duration > 3 * voice.render("Step four.").duration

    def test_is_heard_at_the_level_of_speech_and_starts_at_once(self, voice: Voice) -> None:
        if not self.audible:
            pytest.skip("this one is silent by design")
        samples = voice.render(SENTENCE).samples
        assert abs(level(samples) - SPEECH_LEVEL) < 1.0
        first = np.flatnonzero(np.abs(samples) > 0.01)[0] / 16_000
        assert first < 0.1

    def test_nothing_to_say_is_an_empty_clip(self, voice: Voice) -> None:
        assert len(voice.render("").samples) == 0

    def test_odd_characters_do_no_harm(self, voice: Voice) -> None:
        assert len(voice.render('Größe "M8" <é> 멈춰 \u2014 done; & \t so on.').samples) > 0

    def test_closing_twice_is_safe(self, voice: Voice) -> None:
        voice.close()
        voice.close()


class TestPyttsx3Voice(VoiceContract):
    @pytest.fixture(scope="class")
    @classmethod
    def voice(cls):
        voice = Pyttsx3Voice(limit=PATIENT)
        yield voice
        voice.close()


class TestCachedVoice(VoiceContract):
    @pytest.fixture(scope="class")
    @classmethod
    def voice(cls):
        voice = CachedVoice(Pyttsx3Voice(limit=PATIENT))
        yield voice
        voice.close()


class TestSilentVoice(VoiceContract):
    audible = False

    @pytest.fixture
    def voice(self):
        return SilentVoice()


class TestPiperVoice(VoiceContract):
    @pytest.fixture(scope="class")
    @classmethod
    def voice(cls):
        pytest.importorskip("piper")
        return PiperVoice()


@pytest.fixture
def everyday():
    voice = Pyttsx3Voice(limit=PATIENT)
    yield voice
    voice.close()


def worker_of(voice: Pyttsx3Voice) -> int:
    """The process id of its worker."""
    assert voice._worker
    return voice._worker.pid


def renders(voice: Pyttsx3Voice) -> bool:
    """Whether a sentence is being rendered."""
    return voice._one_at_a_time.locked()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_the_library_comes_from_the_package_not_from_the_system(everyday: Pyttsx3Voice) -> None:
    everyday.render("Ready.")
    maps = Path(f"/proc/{worker_of(everyday)}/maps").read_text()
    loaded = {line.split()[-1] for line in maps.splitlines() if "libespeak" in line}
    assert loaded
    assert all("espeakng_loader" in path for path in loaded)


def test_the_pace_asked_for_is_never_lost(everyday: Pyttsx3Voice) -> None:
    """pyttsx3 2.99 by itself lost it in 37 of 900 renders, and 3 came out empty."""
    lengths = [everyday.render("Undo the six bolts of the cover.", 150).duration for _ in range(200)]
    assert max(lengths) - min(lengths) < timedelta(milliseconds=100)


def test_a_killed_worker_is_replaced(everyday: Pyttsx3Voice) -> None:
    before = everyday.render("Ready.")
    first_worker = worker_of(everyday)
    os.kill(first_worker, signal.SIGKILL)
    after = everyday.render("Ready.")
    assert worker_of(everyday) != first_worker
    assert abs(after.duration - before.duration) < timedelta(milliseconds=100)


def test_a_worker_killed_in_the_middle_of_a_sentence_still_speaks(everyday: Pyttsx3Voice) -> None:
    everyday.render("Ready.")
    worker = worker_of(everyday)
    os.kill(worker, signal.SIGSTOP)  # caught in the middle, for as long as we like
    clips: list[Clip] = []
    speaking = threading.Thread(target=lambda: clips.append(everyday.render(SENTENCE)), daemon=True)
    speaking.start()
    until(lambda: renders(everyday))
    time.sleep(0.1)
    assert speaking.is_alive()
    os.kill(worker, signal.SIGKILL)
    speaking.join(PATIENCE)
    assert len(clips) == 1
    assert clips[0].duration > timedelta(seconds=3)


def test_a_worker_that_hangs_is_replaced_after_the_limit() -> None:
    voice = Pyttsx3Voice()
    voice.render("Ready.")
    os.kill(worker_of(voice), signal.SIGSTOP)
    assert voice.render(SENTENCE).duration > timedelta(seconds=3)
    voice.close()


def test_a_voice_that_never_works_says_so_once(tmp_path: Path) -> None:
    broken = tmp_path / "python"
    broken.write_text("#!/bin/sh\nexit 1\n")
    broken.chmod(0o755)
    with pytest.raises(VoiceError, match=r"the voice cannot speak .*reinstall"):
        Pyttsx3Voice(interpreter=str(broken)).render("Ready.")
    with pytest.raises(VoiceError, match="cannot start"):
        Pyttsx3Voice(interpreter=str(tmp_path / "nothing-here")).render("Ready.")


def test_an_unknown_voice_is_named_as_refused() -> None:
    voice = Pyttsx3Voice(voice="no-such-voice")
    with pytest.raises(VoiceError, match="refused"):
        voice.render("Ready.")
    voice.close()


def test_a_cancelled_sentence_ends_and_the_next_one_is_spoken(everyday: Pyttsx3Voice) -> None:
    everyday.render("Ready.")
    os.kill(worker_of(everyday), signal.SIGSTOP)
    errors: list[str] = []

    def speak() -> None:
        try:
            everyday.render(SENTENCE)
        except VoiceError as error:
            errors.append(str(error))

    speaking = threading.Thread(target=speak, daemon=True)
    speaking.start()
    until(lambda: renders(everyday))
    time.sleep(0.1)
    everyday.cancel()
    speaking.join(PATIENCE)
    assert errors == ["the sentence was cancelled while it was being rendered"]
    assert everyday.render("Ready.").duration > timedelta(milliseconds=200)


def test_the_cache_renders_once_and_forgets_the_oldest() -> None:
    class Counting(SilentVoice):
        def __init__(self) -> None:
            self.rendered: list[tuple[str, int]] = []

        def render(self, text: str, words_per_minute: int = 150) -> Clip:
            self.rendered.append((text, words_per_minute))
            return super().render(text, words_per_minute)

    beneath = Counting()
    voice = CachedVoice(beneath, keep=2)
    for text in ("one", "one", "two", "one", "three", "one", "two"):
        voice.render(text)
    voice.render("two", 120)
    assert [text for text, _ in beneath.rendered] == ["one", "two", "three", "two", "two"]


def test_a_missing_voice_file_is_one_clear_line(tmp_path: Path) -> None:
    pytest.importorskip("piper")
    with pytest.raises(VoiceError, match="no such voice file"):
        PiperVoice(tmp_path / "none.onnx")
    (tmp_path / "bad.onnx").write_bytes(b"\0" * 100)
    (tmp_path / "bad.onnx.json").write_text("{}")
    with pytest.raises(VoiceError, match="not a usable piper voice") as told:
        PiperVoice(tmp_path / "bad.onnx")
    assert "\n" not in str(told.value)


def test_without_the_extra_the_line_to_install_it_is_given(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "piper", None)
    with pytest.raises(VoiceError, match=r"pip install .*natural"):
        PiperVoice()
