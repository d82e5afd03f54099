"""`companion work` as its user starts it: spoken to, heard, and asked to end."""

import signal
import wave
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.speech.sound.samples import RATE
from tests.helpers.logs import events
from tests.helpers.mechanic import Mechanic
from tests.helpers.programs import Program
from tests.helpers.sounds import pause, write_wav

SHORT = Path(__file__).parents[1] / "rehearsal" / "short-job.yaml"
WORK = ("work", SHORT, "--recogniser", "embedded")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("live")


@pytest.fixture(scope="module")
def worked(folder: Path) -> Iterator[Program]:
    """Begun, told "repeat" over the companion's voice, and "yes" when it is silent; ended by a signal."""
    mechanic = Mechanic(folder)
    with Program.companion(*WORK, *mechanic.arguments, folder=folder, env=mechanic.env) as working:
        working.until("Listening.")
        mechanic.says("repeat", working)
        mechanic.answers("yes it is", working)
        working.until("> Step 1")
        working.signal(signal.SIGTERM)
        working.ends()
        yield working
    mechanic.close()


def test_what_is_said_into_the_microphone_is_heard_and_obeyed(worked, folder):
    heard = [e for e in events(folder) if e["event"] == "heard"]
    assert list(dict.fromkeys(e["command"] for e in heard))[:2] == ["repeat", "yes"]
    assert all(e["source"] == "voice" for e in heard)
    assert any(e["event"] == "part_checked" and e["on_bench"] for e in events(folder))


def test_the_companion_speaks_into_the_loudspeaker(worked, folder):
    with wave.open(str(folder / "loudspeaker.wav")) as file:
        assert file.getframerate() == RATE
        sound = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float)
    loud = np.abs(sound) > 1000
    assert loud.sum() / RATE > 0.4
    # The recording begins when the loudspeaker is opened, and ends after two answers of the mechanic.
    assert np.argmax(loud) < len(sound) / 2, "it begins to speak at once"


def test_a_signal_ends_it_cleanly_with_the_end_in_the_log(worked, folder):
    assert worked.code == 0
    assert worked.errors == []
    assert events(folder)[-1]["event"] == "session_ended"


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGHUP, signal.SIGTERM, signal.SIGQUIT])
def test_any_way_of_asking_it_to_end_ends_it_cleanly(tmp_path, number):
    with Program.companion("work", SHORT, "--keys", "--quiet", folder=tmp_path) as working:
        working.until("Yes or no?")
        working.signal(number)
        ends_cleanly(working, tmp_path)


def test_leaving_while_the_models_are_loading_is_clean_too(tmp_path):
    write_wav(tmp_path / "mic.wav", pause(1))
    spoken = (*WORK, "--mic", "mic.wav", "--speaker", "out.wav")
    with Program.companion(*spoken, folder=tmp_path) as working:
        working.until("Yes or no?")
        working.signal(signal.SIGTERM)
        ends_cleanly(working, tmp_path)


def ends_cleanly(working: Program, folder: Path) -> None:
    assert working.ends() == 0
    assert working.errors == []
    assert events(folder)[-1]["event"] == "session_ended"
