"""`companion check` warns of step words that sound like a command which can be said at the same time."""

from pathlib import Path

import pytest

SUMP = Path(__file__).parents[3] / "procedures" / "sump-reseal.yaml"


@pytest.mark.parametrize(("words", "command"), [("go bag", "go back"), ("watt torque", "what torque")])
def test_a_state_that_sounds_like_a_command_is_named_with_its_step(companion, tmp_path, words, command):
    text = SUMP.read_text()
    assert "state: raised and supported" in text
    (tmp_path / "alike.yaml").write_text(text.replace("state: raised and supported", f"state: {words}"))
    result = companion("check", "alike.yaml")
    assert result.returncode == 0, result.stderr
    (line,) = [line for line in result.stdout.splitlines() if "sounds like" in line]
    assert f'"{words}" sounds like "{command}"' in line
    assert line.startswith("alike.yaml:135:12: step 'raise-vehicle', state: ")
    assert line.endswith("choose other words (advice) [sounds-like-a-command]")
    assert companion("check", "alike.yaml", "--strict").returncode == 2


@pytest.mark.parametrize("words", ["what torque", "stop work", "carry on"])
def test_a_state_that_is_a_command_is_an_error(companion, tmp_path, words):
    text = SUMP.read_text().replace("state: raised and supported", f"state: {words}")
    (tmp_path / "same.yaml").write_text(text)
    result = companion("check", "same.yaml")
    assert result.returncode == 2
    assert f"'{words}' is a command; choose words that are none [state-is-a-command]" in result.stdout


def test_the_shipped_procedures_say_nothing_that_sounds_like_a_command(companion):
    result = companion("check", *sorted(SUMP.parent.glob("*.yaml")))
    assert result.returncode == 0
    assert "sounds like" not in result.stdout
