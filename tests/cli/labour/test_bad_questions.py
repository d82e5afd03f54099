"""What a user can get wrong when asking about labour: one clear line, exit code 2."""

import os
import re
from pathlib import Path

import pytest

HERE = Path(__file__).parents[3]
SUMP = HERE / "procedures" / "sump-reseal.yaml"
DEMO_LOG = "2031-02-09-sump-reseal-1.jsonl"


def refused(result) -> str:
    assert result.returncode == 2, result
    assert not result.stdout
    (line,) = result.stderr.strip().splitlines()
    assert line.startswith("companion: ")
    assert ";" in line or "write" in line or ": name a" in line, "it says what to do"
    return line


@pytest.fixture
def one_job(tmp_path: Path) -> Path:
    logs = tmp_path / "logs"
    logs.mkdir()
    (logs / DEMO_LOG).write_bytes((HERE / "logs" / "demo" / DEMO_LOG).read_bytes())
    return logs


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("times",), "logs: no such folder"),
        (("report",), "logs: no such folder"),
        (("quote", SUMP, "--logs", "nowhere"), "nowhere: no such folder"),
        (("quote", SUMP, "--confidence", 100), "--confidence 100 makes no sense"),
        (("quote", SUMP, "--confidence", "nan"), "--confidence nan makes no sense"),
        (("quote", SUMP, "--allowance", 100), "--allowance 100 makes no sense"),
        (("quote", SUMP, "--rate", "dear"), "--rate 'dear' is not a price"),
        (("quote", SUMP, "--rate", "1e400"), "--rate '1e400' is not a price"),
        (("quote", SUMP, "--rate", 1, "--part", "a=1e27"), "--part 'a': '1e27' is not a price"),
        (("quote", SUMP, "--part", "washer"), "--part 'washer' is not understood"),
        (("quote", SUMP, "--part", "washer=0.8x0"), "give at least 1"),
        (("quote", SUMP, "--with", "remove-strainr"), "did you mean 'remove-strainer'?"),
        (("choices", "ways", SUMP, "--first", "part-smp", "--second", "x"), "did you mean 'part-sump'?"),
        (("choices", "ways", SUMP, "--first", ",", "--second", "part-sump"), "names no work"),
        (("choices", "extra", SUMP, "--step", "part-sump"), "is not an optional step"),
        (
            ("choices", "away", SUMP, "--step", "part-sump", "--days", 0, "--price", 1, "--rate", 1),
            "--days 0 makes no sense",
        ),
        (
            ("choices", "away", SUMP, "--step", "isolate-battery", "--days", 1, "--price", 1, "--rate", 1),
            "between two steps",
        ),
        (("plan", SUMP, "--start", "0001-01-01"), "--start '0001-01-01' is not a moment"),
        (("plan", SUMP, "--start", "9999-12-31"), "--start '9999-12-31' is not a moment"),
        (("plan", SUMP, "--start", "tomorrow"), "--start 'tomorrow' is not a moment"),
        (("plan", SUMP, "--hours", "Mon-Fry 08:00-17:00"), "'Mon-Fry' is not a day"),
        (("plan", SUMP, "--hours", ""), "leave no day to work"),
        (("plan", SUMP, "--closed", "3.4.2031"), "--closed '3.4.2031' is not a day"),
        (("plan", SUMP, "--mechanics", 0), "--mechanics 0 cannot be planned"),
        (("plan", SUMP, "--ambient", 200), "is no workshop temperature"),
        (("plan", SUMP, "--humidity", 120), "is no relative humidity"),
        (("plan", SUMP, "--humidity", "nan"), "is no relative humidity"),
        (
            ("plan", SUMP, "--start", "2031-03-03 07:00", "--hours", "Mon 08:00-08:05"),
            "no plan keeps every rule",
        ),
    ],
)
def test_in_one_line(companion, arguments, says):
    assert says in refused(companion(*arguments))


def test_a_folder_without_logs(companion, tmp_path):
    (tmp_path / "logs").mkdir()
    assert "logs: no steps are logged there" in refused(companion("times"))
    assert "logs: no steps are logged there" in refused(companion("report"))
    assert not (tmp_path / "report.html").exists()


def test_who_and_what_is_not_in_the_logs(companion, one_job):
    who = re.search(r'"mechanic": ?"(\w+)"', (one_job / DEMO_LOG).read_text())[1]
    assert f"the mechanics there are: {who}" in refused(companion("quote", SUMP, "--mechanic", "Zed"))
    assert "did you mean 'Sump reseal'?" in refused(companion("times", "--title", "Sump resael"))


def test_a_file_that_cannot_be_written(companion, tmp_path):
    (tmp_path / "folder").mkdir()
    assert "nowhere/q.csv: cannot be written" in refused(companion("quote", SUMP, "--csv", "nowhere/q.csv"))
    assert "folder: that is a folder: name a file in it" in refused(
        companion("plan", SUMP, "--start", "2031-03-04 09:00", "--html", "folder")
    )


@pytest.mark.parametrize(
    ("name", "command", "says"),
    [
        ("headless", ("times",), "one log is left out: odd.jsonl: does not begin with job_opened;"),
        ("binary", ("report", "--out", "r.html"), "one log is left out: odd.jsonl: line 1 is not text;"),
        ("torn", ("quote", SUMP), "one log is torn: odd.jsonl: its last line (9) is torn and was left out;"),
    ],
)
def test_a_log_that_is_none(companion, one_job, name, command, says):
    lines = (one_job / DEMO_LOG).read_text().splitlines(keepends=True)
    # The torn one is of a job of its own.
    other = [line.replace(Path(DEMO_LOG).stem, "odd") for line in lines]
    odd = {"headless": "".join(lines[5:]), "torn": "".join(other[:8]) + other[8][:40]}
    content = b"\x89PNG\r\n\x1a\n\x00\xff" if name == "binary" else odd[name].encode()
    (one_job / "odd.jsonl").write_bytes(content)
    for _ in ("read", "known from before"):
        told = companion(*command)
        assert told.returncode == 0
        (warning,) = told.stderr.strip().splitlines()
        assert warning.startswith(f"companion: warning: {says}")
        assert told.stdout


def test_no_log_can_be_read(companion, one_job):
    (one_job / DEMO_LOG).write_bytes(b"\x00\x01\x02")
    for command in (("times",), ("quote", SUMP)):
        assert f"logs: one log is left out: {DEMO_LOG}: holds no whole line" in refused(companion(*command))


def test_a_solver_that_is_not_installed(companion_process, tmp_path):
    stub = tmp_path / "without" / "ortools"
    stub.mkdir(parents=True)
    (stub / "__init__.py").write_text("raise ImportError('not installed')\n")
    env = {**os.environ, "PYTHONPATH": str(stub.parent)}
    assert "extra 'plan'" in refused(companion_process("plan", SUMP, "--solver", "cp-sat", env=env))
