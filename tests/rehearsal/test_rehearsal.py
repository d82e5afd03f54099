"""The main job on real audio: a spoken mechanic, the real recogniser, the real log, a stereo recording."""

import json
import wave
from pathlib import Path

import numpy as np
import pytest

from companion.rehearsal.performing import Outcome
from companion.rehearsal.rehearse import Result, Settings, rehearse
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.work.views.plain_view import PlainLines

SHORT = Path(__file__).parent / "short-job.yaml"

SCRIPT = """
- {at: battery-off, say: repeat}
- {at: plug-off, say: more}
- {at: cover-off, say: what size}
- {at: new-gasket, say: note the bracket is cracked on the left}
- {at: cover-on, say: what torque}
- {at: plug-on, away: 15 h}
"""


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Result:
    folder = tmp_path_factory.mktemp("rehearsal")
    script = folder / "script.yaml"
    script.write_text(SCRIPT)
    settings = Settings(SHORT, folder / "logs", folder / "job.wav", noise="pink", snr_db=20, script=script)
    return rehearse(settings, EmbeddedRecogniser(), PlainLines())


@pytest.fixture(scope="module")
def events(result: Result) -> list[dict]:
    return [json.loads(line) for line in result.log.read_text().splitlines()]


def test_the_job_is_closed_with_nothing_open(result):
    assert result.state.closed
    assert not result.state.open_items
    assert not result.state.open_seals
    assert len(result.state.settled) == 8


def test_everything_said_was_understood_or_visibly_asked_again(result):
    assert len(result.attempts) >= 20
    outcomes = {attempt.outcome for attempt in result.attempts}
    assert Outcome.TAKEN_FOR_ANOTHER not in outcomes
    understood = sum(a.outcome is Outcome.UNDERSTOOD for a in result.attempts)
    assert understood >= 0.75 * len(result.attempts)


def test_commands_came_through_the_ear_and_not_the_keys(events):
    heard = [e for e in events if e["event"] == "heard" and e["source"] == "voice"]
    assert {"done", "state", "count", "reading", "yes", "close the job"} <= {e["command"] for e in heard}


def test_the_battery_was_proved_dead_twice_because_of_the_night_between(events):
    proofs = [e for e in events if e["event"] == "energy_proved"]
    assert len(proofs) == 2
    assert [e["energy"] for e in events if e["event"] == "proof_lost"] == ["battery"]


def test_the_note_is_kept_as_sound_beside_its_words(result, events):
    (note,) = [e for e in events if e["event"] == "note_taken"]
    assert "bracket" in note["text"]
    with wave.open(str(result.log.parent / note["clip"])) as clip:
        assert clip.getnframes() > clip.getframerate()


def test_the_recording_has_the_mechanic_left_and_the_companion_right(result):
    with wave.open(str(result.wav)) as file:
        assert file.getnchannels() == 2
        data = np.frombuffer(file.readframes(file.getnframes()), "<i2").reshape(-1, 2).astype(float)
    assert abs(len(data) / 16000 - result.recorded.total_seconds()) < 0.1
    companion = np.abs(data[:, 1]) > 300
    mechanic = np.abs(data[:, 0]) > 3000
    assert companion.mean() > 0.1
    assert mechanic.mean() > 0.005
    # The companion speaks first: it reads the job out before anyone says a word.
    assert np.argmax(companion) < np.argmax(mechanic)


def test_what_is_said_is_in_the_log_before_it_is_in_the_air(events):
    sequence = [e["seq"] for e in events]
    assert sequence == list(range(1, len(events) + 1))
    texts = [e["text"] for e in events if e["event"] == "said"]
    assert any(text.startswith("Step 6 done. Step 7") for text in texts)
    assert texts[-1].startswith("Job closed") or "Job closed" in " ".join(texts[-3:])
