"""No keyboard, a keyboard that ends, and lines that nobody types by hand."""

import os
import subprocess
from pathlib import Path

import pytest

from companion.work.keys import LONGEST
from tests.helpers.logs import events
from tests.helpers.programs import PYTHON, Program
from tests.helpers.sounds import pause, write_wav
from tests.helpers.waiting import PATIENCE

BRAKES = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"
BY_KEYS = ("work", BRAKES, "--keys", "--quiet")


@pytest.mark.parametrize("closed", ["</dev/null", "<&-", "< empty", "<&- >&-"])
def test_by_keys_alone_a_job_without_a_keyboard_is_not_begun(tmp_path, closed):
    (tmp_path / "empty").touch()
    told = in_a_shell(f"{PYTHON} -m companion work {BRAKES} --keys --quiet {closed}", tmp_path)
    assert told.returncode == 2
    (line,) = told.stderr.splitlines()
    assert "start it on a terminal, or leave out --keys" in line
    assert not list((tmp_path / "logs").glob("*.jsonl"))


def test_a_pipe_that_was_closed_before_is_no_keyboard(tmp_path):
    told = in_a_shell(f"true | (sleep 0.2; {PYTHON} -m companion work {BRAKES} --keys --quiet)", tmp_path)
    assert told.returncode == 2
    assert not list((tmp_path / "logs").glob("*.jsonl"))


def test_one_that_ends_later_without_a_word_is_told_and_the_job_kept(tmp_path):
    with Program.companion(*BY_KEYS, folder=tmp_path) as working:
        working.until("Yes or no?")
        working.hang_up()
        assert working.ends() == 2
    (line,) = working.errors
    assert "go on with companion work --resume" in line
    assert events(tmp_path)[-1]["event"] == "session_ended"


def test_with_a_microphone_the_job_goes_on_without_a_keyboard(tmp_path):
    write_wav(tmp_path / "mic.wav", pause(60))
    by_voice = ("work", BRAKES, "--recogniser", "embedded", "--mic", "mic.wav", "--quiet")
    with Program.companion(*by_voice, folder=tmp_path) as working:
        working.hang_up()
        working.until("no keyboard here: the job goes on by voice")
        with (Path("/proc") / str(working.pid) / "stat").open() as alive:
            assert alive.read().split()[2] != "Z"
        assert events(tmp_path)[-1]["event"] != "session_ended"


def test_a_line_too_long_counts_for_nothing_is_told_and_costs_little(tmp_path):
    """Five million characters of a note; a note of the longest length after it is kept whole."""
    longest = "note " + "x" * (LONGEST - 5)
    with Program.companion(*BY_KEYS, folder=tmp_path) as working:
        working.types("note " + "y" * 5_000_000, longest + "z", longest)
        working.until(f"write at most {LONGEST:,} characters")
        working.until(f"write at most {LONGEST:,} characters")
        working.until("< note xxx")
        working.hang_up()
        assert working.ends() == 0
        assert "y" * 3000 not in "".join(working.shown)
    notes = [event["text"] for event in events(tmp_path) if event["event"] == "note_taken"]
    assert notes == [longest.removeprefix("note ")]
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    assert os.path.getsize(log) < 50_000


def in_a_shell(line: str, folder: Path) -> "subprocess.CompletedProcess[str]":
    """A shell closes streams as its user asks."""
    return subprocess.run(
        ["/bin/sh", "-c", line],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )


@pytest.mark.parametrize("number", ["9" * 350 + "th", "1/" + "9" * 350, "M" + "9" * 320 + ".5"])
def test_a_note_with_a_number_that_nobody_can_say_is_kept(companion, tmp_path, number):
    done = companion(*BY_KEYS, typed=f"yes\nyes\nyes\nyes\nnote part {number}\nhelp\n")
    assert done.returncode == 0, done.stderr
    notes = [event["text"] for event in events(tmp_path) if event["event"] == "note_taken"]
    assert notes == [f"part {number}"]


@pytest.mark.parametrize(
    ("command", "option"),
    [
        (BY_KEYS, "--vehicle"),
        (BY_KEYS, "--mechanic"),
        (("jobs", "JOB"), "--arrived"),
        (("jobs", "JOB", "--days", "3"), "--await"),
        (("jobs", "JOB"), "--done"),
        (("quote", BRAKES), "--currency"),
    ],
)
def test_a_name_too_long_is_told_and_nothing_of_it_kept(companion, tmp_path, command, option):
    companion(*BY_KEYS, typed="yes\nhelp\n")
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    before = log.read_bytes()
    told = companion(*(log.stem if word == "JOB" else word for word in command), option, "x" * 100_000)
    assert told.returncode == 2
    assert told.stderr == f"companion: {option}: 100,000 letters are too many; write up to 200\n"
    assert [path.read_bytes() for path in (tmp_path / "logs").glob("*.jsonl")] == [before]


def test_a_text_in_a_log_that_nobody_can_have_said_is_damage(companion, tmp_path):
    companion(*BY_KEYS, "--vehicle", "Hathersen", typed="yes\nhelp\n")
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    log.write_text(log.read_text().replace("Hathersen", "x" * 5_000_000))
    told = companion("work", "--job", log.stem, "--keys", "--quiet", typed="help\n")
    assert told.returncode == 2
    (line,) = told.stderr.splitlines()
    assert "a text of 5,000,000 letters is longer than any that is said" in line
    assert len(line) < 500
