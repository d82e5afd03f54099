"""Bad days at the car: no home, a disk that is taken away, a log from elsewhere, a window of no size."""

import fcntl
import json
import os
import shutil
import struct
import termios
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from companion.errors import LogbookError
from companion.job.facts import events as ev
from companion.work.edges.clock import StagedClock
from companion.work.opening import resume_job
from tests.helpers.logs import events, lines_of
from tests.helpers.programs import PYTHON, Program, run
from tests.helpers.terminal import Emulator

BRAKES = Path(__file__).parents[3] / "procedures" / "front-brakes.yaml"
BY_KEYS = ("work", BRAKES, "--keys", "--quiet")


@pytest.mark.parametrize("home", [None, "/nowhere/at/all", ""])
def test_without_a_home_and_in_the_plain_c_locale_all_is_as_ever(tmp_path, home):
    env = {"PATH": os.environ["PATH"], "PYTHONPATH": os.environ.get("PYTHONPATH", ""), "LC_ALL": "C"}
    if home is not None:
        env["HOME"] = home
    command = (PYTHON, "-m", "companion", *BY_KEYS)
    result = run(*command, typed="yes\nnote the clip is loose\n", folder=tmp_path, env=env)
    assert (result.returncode, result.stderr) == (0, "")
    assert [e["text"] for e in events(tmp_path) if e["event"] == "note_taken"] == ["the clip is loose"]


def test_a_disk_that_is_taken_away_is_said_aloud_and_nothing_is_acknowledged(tmp_path):
    with Program.companion(*BY_KEYS, folder=tmp_path) as working:
        working.types("note before")
        working.until("> Noted: before")
        shutil.rmtree(tmp_path / "logs")
        working.types("note after")
        working.until("cannot write the log")
        working.hang_up()
        assert working.ends() == 2
    assert not any("Noted: after" in line for line in working.shown)
    (line,) = working.errors
    assert "is not in the log" in line


class TestTerminal:
    @pytest.fixture
    def terminal(self):
        made = Emulator()
        yield made
        made.close()

    @pytest.mark.parametrize("size", [(0, 0), (1, 1), (1, 200), (60, 1)])
    def test_a_window_of_no_size_ends_nothing(self, terminal, tmp_path, size):
        env = os.environ | {"TERM": "xterm"}
        with Program.companion(*BY_KEYS, folder=tmp_path, env=env, terminal=terminal.slave) as working:
            terminal.until("Yes or no?")
            fcntl.ioctl(terminal.slave, termios.TIOCSWINSZ, struct.pack("HHHH", *size, 0, 0))
            terminal.types("note in a slit\r")
            fcntl.ioctl(terminal.slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
            terminal.types("repeat\r")
            terminal.until("you: repeat")
            terminal.types("\x03")
            assert working.ends() == 0
        assert working.errors == []
        assert [e["text"] for e in events(tmp_path) if e["event"] == "note_taken"] == ["in a slit"]


class TestLogs:
    """What another machine or somebody's editor made of a log."""

    @pytest.mark.parametrize("off", [timedelta(days=-400), timedelta(hours=-3), timedelta(days=400)])
    def test_from_a_machine_with_another_clock_it_goes_on_and_no_wait_is_lost(self, bench, off):
        bench.begin("sump-reseal")
        while not any(isinstance(e, ev.StepDone) for e in bench.obliges()):
            """On to the first step that is done."""
        before = bench.session.state
        bench.leave()
        bench.clock = StagedClock(datetime(2031, 3, 4, 9, tzinfo=UTC) + off)
        bench.clock.reboot(timedelta())
        happened = bench.resume()
        assert bench.session.state.settled.keys() == before.settled.keys()
        assert bench.session.state.open_items == before.open_items
        told = {event.deadline for event in happened if isinstance(event, ev.DeadlineAnnounced)}
        assert before.deadlines
        assert bench.session.state.deadlines.keys() | told >= before.deadlines.keys()
        assert any(isinstance(event, ev.Said) for event in happened)
        lines = lines_of(bench.log)
        assert [line["seq"] for line in lines] == list(range(1, len(lines) + 1))

    @pytest.mark.parametrize(
        ("spoil", "why"),
        [
            (lambda lines: lines[:5] + lines[4:], "event 6 should be here, not 5"),
            (lambda lines: [*lines[:4], lines[5], lines[4], *lines[6:]], "event 5 should be here, not 6"),
            (lambda lines: lines[3:], "event 1 should be here, not 4"),
            (lambda lines: [lines[0], b"\x00" * 40 + b"\n", *lines[2:]], "not JSON"),
            (lambda lines: [newer(lines[0]), *lines[1:]], "newer companion"),
        ],
        ids=["doubled", "reordered", "head cut off", "garbled", "newer"],
    )
    def test_what_was_altered_is_refused_in_a_line_and_not_touched(self, bench, spoil, why):
        bench.begin()
        bench.obliges()
        bench.leave()
        bench.log.write_bytes(b"".join(spoil(bench.log.read_bytes().splitlines(keepends=True))))
        spoilt = bench.log.read_bytes()
        with pytest.raises(LogbookError, match=why) as told:
            resume_job(bench.log.stem, bench.logs, bench.clock)
        assert len(str(told.value).splitlines()) == 1
        assert bench.log.read_bytes() == spoilt


def newer(line: bytes) -> bytes:
    return json.dumps({**json.loads(line), "schema": 99}).encode() + b"\n"
