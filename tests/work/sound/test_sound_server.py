"""A job by voice through a real sound server, which is killed in the middle and given another loudspeaker.

Real time, real PortAudio, real speech both ways. Where no server can be had it is skipped.
"""

from dataclasses import dataclass
from pathlib import Path

import pytest

from companion.speech.devices.sound_process import LOG_NAME
from tests.helpers.logs import events
from tests.helpers.mechanic import Mechanic
from tests.helpers.programs import Program
from tests.helpers.sound_server import SoundServer, why_not
from tests.helpers.waiting import until

pytestmark = pytest.mark.skipif(why_not() is not None, reason=str(why_not()))

PROCEDURE = """\
title: Cover gasket
revision: "1"
applies_to: [invented Marlow Tern 1.6]
source_of_torques: Invented for the tests. The vehicle maker's data rules.
items:
  cover: {name: the cover, kind: joint}
steps:
  - {id: look, act: inspect, say: Look at the cover., book: 1 min}
  - id: cover-off
    act: remove
    say: Take the cover off and lay it on the bench with its face up.
    book: 3 min
    opens: [cover]
  - {id: cover-on, act: fit, say: Put the cover on., book: 4 min, closes: [cover]}
"""


class AtTheServer(Mechanic):
    """Speaks into the server's microphone, and listens to its loudspeakers."""

    says_again_after = 20.0

    def __init__(self, folder: Path, server: SoundServer) -> None:
        super().__init__(folder)
        self._server = server
        self.arguments = ("--recogniser", "embedded")
        self.env = server.env

    def brings(self, text: str, shown: str, working: Program) -> None:
        """Say it once the companion has spoken, and again when nothing comes of it for long."""
        until(self._has_spoken, lambda: f"the companion says nothing; {working.told()}")
        for _ in range(4):
            self._speak(text)
            if working.shows(shown, self.says_again_after):
                return
        raise AssertionError(f"{text!r} did not bring {shown!r}; {working.told()}")

    def _speak(self, text: str) -> None:
        self._server.speak(self._talker.stream(0.3, text, 0.5))

    def _has_spoken(self) -> bool:
        return self._server.has_spoken()


@dataclass
class Worked:
    """What came of a job at the server."""

    code: int
    shown: str
    errors: str
    events: list[dict]
    printed: str


@pytest.fixture(scope="module")
def worked(tmp_path_factory: pytest.TempPathFactory) -> Worked:
    """Each step is done by voice. In the middle of the longest sentence the server is killed and started."""
    folder = tmp_path_factory.mktemp("server")
    (folder / "job.yaml").write_text(PROCEDURE)
    with SoundServer(folder / "pulse") as server:
        mechanic = AtTheServer(folder, server)
        work = ("work", "job.yaml", *mechanic.arguments)
        with Program.companion(*work, folder=folder, env=mechanic.env) as working:
            working.until("Step 1")
            mechanic.brings("step done", "Step 2", working)
            until(server.is_loud)
            server.kill()
            server.start()
            until(server.is_loud)
            mechanic.brings("step done", "Step 3", working)
            server.use("other")
            until(lambda: server.in_use() == {"other"})
            until(lambda: server.is_loud("other"))
            mechanic.brings("step done", "Nothing is left to do", working)
            mechanic.brings("close the job", "Yes or no?", working)
            mechanic.brings("yes", "Job closed", working)
            code = working.ends()
        mechanic.close()
    printed = (folder / "logs" / LOG_NAME).read_text()
    return Worked(code, "".join(working.shown), "".join(working.errors), events(folder), printed)


def test_the_job_is_done_by_voice_to_its_end(worked: Worked) -> None:
    assert worked.code == 0, worked.errors
    assert [e["step"] for e in worked.events if e["event"] == "step_done"] == [
        "look",
        "cover-off",
        "cover-on",
    ]
    assert any(e["event"] == "job_closed" for e in worked.events), worked.shown


def test_a_microphone_that_gives_nothing_at_all_is_told(worked: Worked) -> None:
    """So is this one until the mechanic speaks: a real one has some hiss."""
    assert "The microphone gives no sound at all" in worked.shown


def test_no_saying_is_lost_though_the_server_was_killed_while_one_was_said(worked: Worked) -> None:
    assert "not played" not in worked.shown
    assert worked.shown.count("Loudspeaker:") >= 2, "it was opened again, and that is told"


def test_nothing_that_a_sound_library_prints_reaches_the_screen(worked: Worked) -> None:
    assert worked.errors == ""
    assert "ALSA" not in worked.shown
    assert "alsa" in worked.printed.lower(), "the server was killed: there was something to print"
