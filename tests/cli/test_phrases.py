"""`companion phrases`: what can be said, and what of it sounds alike."""

import json
from pathlib import Path

BRAKES = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"


def test_phrases_that_sound_alike_are_told(companion):
    result = companion("phrases", "--alike", "--procedure", BRAKES, "--json")
    pairs = [json.loads(line) for line in result.stdout.splitlines()]
    assert {"what torque", "what tools"} in [{pair["one"], pair["other"]} for pair in pairs]
    assert all(0.7 <= pair["likeness"] < 1 for pair in pairs)


def test_only_english_is_known_by_its_sound(companion):
    result = companion("phrases", "--alike", "--lang", "ko")
    assert result.returncode == 2
    assert "English" in result.stderr
