"""Where the sound of a mouth goes: devices, files, and the screen alone."""

import wave
from pathlib import Path

import numpy as np
import pytest

from companion.errors import SoundError
from companion.job.facts.sayings import Priority
from companion.speech.devices.player import ScreenOnlyPlayer, WavPlayer
from companion.speech.saying.happenings import Failed, Finished, Started
from companion.speech.saying.mouth import Mouth
from companion.speech.sound.samples import FRAME, RATE
from tests.speech.fakes import NotedVoice, all_of


@pytest.fixture
def mouth() -> Mouth:
    return Mouth(NotedVoice())


def test_without_sound_every_saying_is_reported_as_not_played(mouth: Mouth) -> None:
    mouth.say("a", "One.")
    player = ScreenOnlyPlayer(mouth, "no loudspeaker")
    player.start()
    mouth.say("d", "Stop.", Priority.DANGER)
    assert mouth.events() == [Failed("a", "no loudspeaker"), Failed("d", "no loudspeaker")]
    assert player.watch() == "no loudspeaker"
    mouth.unmute()
    mouth.say("b", "Two.")
    all_of(mouth)
    assert mouth.events() == [Started("b"), Finished("b")]


def test_a_wav_file_holds_what_was_pulled(tmp_path: Path, mouth: Mouth) -> None:
    mouth.say("a", "One.")
    player = WavPlayer(mouth, tmp_path / "said.wav")
    player.start()
    played = np.concatenate([player.play(FRAME) for _ in range(20)])
    player.close()
    player.close()
    with wave.open(str(tmp_path / "said.wav")) as file:
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (RATE, 1, 2)
        written = np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767
    assert np.allclose(written, played, atol=1e-4)


def test_a_wav_file_that_cannot_be_written_is_one_clear_line(tmp_path: Path, mouth: Mouth) -> None:
    with pytest.raises(SoundError, match=r"said.wav: cannot be written"):
        WavPlayer(mouth, tmp_path / "none" / "said.wav").start()
