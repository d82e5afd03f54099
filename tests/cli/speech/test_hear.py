"""Recordings heard from the command line, and the look at a microphone without one."""

import json
from pathlib import Path

import numpy as np
import pytest

from tests.helpers.card import SoundCard
from tests.helpers.sounds import Talker, write_wav

TEXTS = ["repeat", "what size", "go back", "stop talking", "done"]
BRAKES = Path(__file__).parents[3] / "procedures" / "front-brakes.yaml"


@pytest.fixture(scope="session")
def five() -> np.ndarray:
    """The five phrases as a good microphone gives them."""
    talker = Talker("gmw/en")
    sound = talker.stream(1.5, *(part for text in TEXTS for part in (text, 1.5)))
    talker.close()
    return sound


def test_a_good_recording_is_understood_and_nothing_is_to_change(companion, tmp_path, five):
    write_wav(tmp_path / "five.wav", five)
    result = companion("hear", "--check", "--from", "five.wav", "--recogniser", "embedded")
    assert result.returncode == 0, result.stderr
    for text in TEXTS:
        assert f'heard "{text}"' in result.stdout
    assert "All is well" in result.stdout
    assert "Understood: 5 of 5" in result.stdout
    assert "not calibrated" in result.stdout
    assert not (tmp_path / "logs").exists(), "nothing is kept unless it is asked for"


def test_a_clipped_one_is_told_in_plain_words_and_as_numbers(companion, tmp_path, five):
    write_wav(tmp_path / "loud.wav", 20 * five)
    result = companion("hear", "--check", "--from", "loud.wav", "--json", "--recogniser", "embedded")
    found = json.loads(result.stdout)
    assert max(p["clipped"] for p in found["phrases"]) > 0.05
    assert found["advice"][0].startswith("Too loud")
    assert found["calibration"] is None
    assert found["osha_dose_percent"] is None, "nobody calibrated it"


def test_what_was_learnt_is_kept_and_used(companion, tmp_path, five):
    write_wav(tmp_path / "five.wav", five)
    arguments = ["--from", "five.wav", "--adapt", "--meter", "70", "--recogniser", "embedded"]
    result = companion("hear", "--check", *arguments)
    assert result.returncode == 0, result.stderr
    assert "70 dB(A)" in result.stdout
    assert "Noise dose of eight hours of it: 0 % by OSHA" in result.stdout
    kept = json.loads((tmp_path / "logs" / "hearing.json").read_text())
    assert kept["calibration"] == pytest.approx(70 + 70, abs=3), "the hiss is 70 dB below full scale"
    heard = companion("hear", "five.wav", "--json", "--recogniser", "embedded")
    assert [json.loads(line)["phrase"] for line in heard.stdout.splitlines()] == TEXTS
    (tmp_path / "logs" / "hearing.json").write_text("{}")
    refused = companion("hear", "five.wav", "--recogniser", "embedded")
    assert refused.returncode == 2
    assert "hearing.json: not a hearing profile" in refused.stderr
    assert len(refused.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--check", "--from", "nowhere.wav"], "nowhere.wav"),
        (["--check", "a.wav"], "--from"),
        (["a.wav", "--adapt"], "--check"),
        (["--check", "--from", "a.wav", "--meter", "900"], "--meter"),
        ([], "name recordings"),
    ],
)
def test_what_does_not_fit_together_is_refused(companion, arguments, says):
    result = companion("hear", *arguments)
    assert result.returncode == 2
    assert says in result.stderr
    assert "Traceback" not in result.stderr


def test_without_a_microphone_the_check_says_what_to_do(companion):
    result = companion("hear", "--check", "--mic", "no such microphone")
    assert result.returncode == 2
    (line,) = result.stderr.splitlines()
    assert "apt install libportaudio2" in line or "hear --devices" in line


def test_phrases_that_sound_alike_are_told(companion):
    result = companion("phrases", "--alike", "--procedure", BRAKES, "--json")
    pairs = [json.loads(line) for line in result.stdout.splitlines()]
    assert {"what torque", "what tools"} in [{pair["one"], pair["other"]} for pair in pairs]
    assert all(0.7 <= pair["likeness"] < 1 for pair in pairs)


def test_only_english_is_known_by_its_sound(companion):
    result = companion("phrases", "--alike", "--lang", "ko")
    assert result.returncode == 2
    assert "English" in result.stderr


def test_devices_are_listed_and_how_late_sound_comes_is_told(companion, tmp_path, monkeypatch):
    card = SoundCard(tmp_path, monkeypatch)
    result = companion("hear", "--devices")
    assert result.returncode == 0
    assert result.stdout.count("*   0  headset") == 2, "it can hear and play"
    assert "Loudspeaker: headset; sound comes 100 ms late." in result.stdout
    card.is_now("unplugged")
    result = companion("hear", "--devices")
    assert "There is no microphone; plug one in, or work with --keys." in result.stdout
    assert "There is no loudspeaker; plug one in, or work with --quiet." in result.stdout


@pytest.fixture(scope="session")
def thrice() -> np.ndarray:
    """A word of one's own, three times."""
    talker = Talker("gmw/en")
    sound = talker.stream(1.0, *(part for _ in range(3) for part in ("finished", 1.2)))
    talker.close()
    return sound


def test_ones_own_word_is_heard_once_it_stands_in_a_file(companion, tmp_path, thrice):
    write_wav(tmp_path / "thrice.wav", thrice)
    (tmp_path / "mine.yaml").write_text("done: [finished]\n")
    arguments = ["hear", "thrice.wav", "--json", "--recogniser", "embedded"]
    assert companion(*arguments).stdout == ""
    heard = companion(*arguments, "--phrases", "mine.yaml")
    assert [json.loads(line)["command"] for line in heard.stdout.splitlines()] == ["done"] * 3
    (tmp_path / "mine.yaml").write_text("dome: [finished]\n")
    refused = companion(*arguments, "--phrases", "mine.yaml")
    assert refused.returncode == 2
    assert refused.stderr == "companion: mine.yaml: 'dome' is no command; did you mean 'done'?\n"


def test_a_word_that_is_taught_is_told_from_the_rest(companion, tmp_path, thrice):
    write_wav(tmp_path / "thrice.wav", thrice)
    of_a_file = ("--from", "thrice.wav", "--recogniser", "embedded")
    result = companion("hear", "--teach", "finished", "--as", "done", *of_a_file)
    assert result.returncode == 0, result.stderr
    assert '"finished" would be obeyed 3 of 3 times.' in result.stdout
    assert 'by its sound "done" is nearest to' in result.stdout
    assert "write into the file of --phrases: done: [finished]" in result.stdout
    assert companion("hear", "--teach", "finished").returncode == 2
