"""How long left, asked at the car: from logged times where there are any."""

import re
import shutil
from datetime import timedelta
from pathlib import Path

import pytest

from companion.procedure.units import parse_duration

HERE = Path(__file__).parents[3]
COOLANT = HERE / "procedures" / "coolant-pump.yaml"
OPEN_JOB = "2031-06-02-coolant-pump-and-thermostat-1"


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    """A few demo jobs on one procedure, the last of them still open."""
    folder = tmp_path / "logs"
    demo = HERE / "logs" / "demo"
    shutil.copytree(demo / "procedures", folder / "procedures")
    for log in sorted(demo.glob("*-coolant-pump-*.jsonl"))[-4:]:
        shutil.copy(log, folder)
    return folder


def how_long(companion, *arguments: object) -> tuple[str, timedelta]:
    """All that is shown, and the likely time that is told."""
    result = companion("work", *arguments, "--keys", "--quiet", "--plain", typed="how long left\n")
    assert result.returncode == 0, result.stderr
    found = re.search(r"About (.+?) of work left", result.stdout)
    assert found, result.stdout
    return result.stdout, parse_duration(found[1])


def test_from_logged_times_while_there_is_a_fit_of_them(companion, logs):
    before, by_the_book = how_long(companion, COOLANT)
    assert before.count("time left is by the book; 'companion times'") == 1
    assert "work left, by the book." in before

    assert companion("times").returncode == 0
    after, likely = how_long(companion, COOLANT)
    assert "time left is by the book" not in after
    assert "four jobs, " in after
    assert likely != by_the_book

    resumed, rest = how_long(companion, "--resume", "--job", OPEN_JOB)
    assert "four jobs, " in resumed
    assert rest < 0.7 * likely, "what is done today is not to be done again"

    (kept,) = (logs / ".times").glob("fit-*.json")
    kept.write_text("{}")
    spoilt, likely = how_long(companion, COOLANT)
    assert "time left is by the book: " in spoilt
    assert "delete it" in spoilt
    assert likely == by_the_book

    kept.rename(kept.with_name(f"fit-1-{kept.name.rpartition('-')[2]}"))
    other_version, likely = how_long(companion, COOLANT)
    assert "'companion times' makes the logged times ready" in other_version
    assert likely == by_the_book


def test_the_first_job_of_a_kind_is_by_the_book_without_a_word(companion):
    shown, _ = how_long(companion, COOLANT)
    assert "time left is by the book" not in shown
    assert "work left, by the book." in shown
