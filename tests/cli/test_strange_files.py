"""What is no log among the logs, and pages that would take the place of a log, a sound or a procedure."""

import os
from pathlib import Path

import pytest

from companion.files import LARGEST_LOG
from companion.harmless import cell

PROCEDURES = Path(__file__).parents[2] / "procedures"
SUMP = PROCEDURES / "sump-reseal.yaml"


@pytest.fixture
def job(companion, tmp_path) -> str:
    companion("work", SUMP, "--keys", "--quiet", typed="yes\nstart a timer for 20 minutes\n")
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    return log.stem


STRANGE = {
    "a pipe": os.mkfifo,
    "a folder": Path.mkdir,
    "a link in a circle": lambda path: path.symlink_to(path.name),
    "too large": lambda path: path.open("wb").truncate(LARGEST_LOG + 1),
}
"""None of them may be waited for; the large one is a hole in the file system, read in no time if at all."""
COMMANDS = (
    ["jobs"],
    ["jobs", "1-strange"],
    ["due"],
    ["work", "--job", "1-strange", "--keys", "--quiet"],
    ["work", "--resume", "--keys", "--quiet"],
    ["times"],
    ["report"],
)


@pytest.mark.parametrize("kind", STRANGE)
def test_what_is_no_log_is_told_in_a_line_and_holds_nothing_up(companion, tmp_path, job, kind):
    STRANGE[kind](tmp_path / "logs" / "1-strange.jsonl")
    for command in COMMANDS:
        told = companion(*command, typed="help\n")
        (about,) = (line for line in (told.stdout + told.stderr).splitlines() if "1-strange.jsonl" in line)
        assert any(words in about for words in ("no log", "too large", "circle", "folder", "links")), (
            command,
            about,
        )
        assert "Traceback" not in told.stderr
    assert job in companion("jobs").stdout
    assert "LATE" in companion("due").stdout or "min" in companion("due").stdout


NAMES = ("logs/{job}.jsonl", "logs/{job}.note-1.wav", "logs/{job}.torn", "mine.yaml", "mine.YML", "link.html")
WRITERS = (
    ["due", "--ics"],
    ["jobs", "{job}", "--handover"],
    ["jobs", "{job}", "--record"],
    ["quote", "mine.yaml", "--csv"],
    ["quote", "mine.yaml", "--html"],
    ["plan", "mine.yaml", "--html"],
    ["report", "--out"],
)


@pytest.mark.parametrize("name", NAMES)
def test_no_page_takes_the_place_of_a_log_a_sound_or_a_procedure(companion, tmp_path, job, name):
    (tmp_path / "mine.yaml").write_bytes(SUMP.read_bytes())
    (tmp_path / "mine.YML").write_bytes(SUMP.read_bytes())
    (tmp_path / "logs" / f"{job}.note-1.wav").write_bytes(b"a sound")
    (tmp_path / "logs" / f"{job}.torn").write_bytes(b"a line")
    (tmp_path / "link.html").symlink_to(tmp_path / "logs" / f"{job}.jsonl")
    target = name.format(job=job)
    before = (tmp_path / target).read_bytes()
    for writer in WRITERS:
        told = companion(*(word.format(job=job) for word in writer), target)
        assert told.returncode == 2, (writer, told)
        assert "give this another name" in told.stderr.splitlines()[-1]
        assert (tmp_path / target).read_bytes() == before
    assert (tmp_path / "link.html").is_symlink()


@pytest.mark.parametrize("name", ["logs/{job}.jsonl", "logs/{job}.note-1.wav", "mine.yaml"])
def test_no_recording_does_either(companion, tmp_path, job, name):
    (tmp_path / "mine.yaml").write_bytes(SUMP.read_bytes())
    (tmp_path / "logs" / f"{job}.note-1.wav").write_bytes(b"a sound")
    target = name.format(job=job)
    before = (tmp_path / target).read_bytes()
    told = companion("rehearse", "mine.yaml", "--wav", target)
    assert told.returncode == 2
    assert "give this another name" in told.stderr
    assert (tmp_path / target).read_bytes() == before


def test_the_loudspeaker_is_no_kept_sound(companion, tmp_path, job):
    kept = tmp_path / "logs" / f"{job}.note-1.wav"
    kept.write_bytes(b"a sound")
    told = companion("work", "--job", job, "--keys", "--speaker", f"logs/{kept.name}", typed="help\n")
    assert told.returncode == 2
    assert kept.read_bytes() == b"a sound"


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t=", "\r\n@", "\u202e+", " ="])
def test_a_cell_is_no_formula(sign):
    shown = cell(f"{sign}HYPERLINK(1)")
    assert shown.startswith("'")
    assert shown.isprintable()
    assert cell("M6 bolt - long") == "M6 bolt - long"


@pytest.mark.parametrize("name", ["", ".", "logs"])
def test_a_page_takes_the_place_of_no_folder(companion, job, name):
    told = companion("due", "--ics", name)
    assert told.returncode == 2
    assert told.stderr.splitlines()[-1].endswith("that is a folder: name a file in it")


def test_a_name_that_no_system_takes_is_told_in_a_line(companion, job):
    for command in (["plan", SUMP, "--logs", "x" * 300], ["quote", SUMP, "--logs", "x" * 300]):
        told = companion(*command)
        assert told.returncode == 2
        (line,) = told.stderr.splitlines()
        assert "name too long" in line.lower().replace("name is", "name")
