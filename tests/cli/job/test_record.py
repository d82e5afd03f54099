"""The record of work from the command line: told by `jobs JOB`, and as a page to print."""

import json
from pathlib import Path

import pytest

PROCEDURES = Path(__file__).parents[3] / "procedures"


@pytest.fixture
def job(companion, tmp_path) -> str:
    said = ["yes"] * 4 + ["battery disconnected", "note the clip is <loose>", "start a timer for ten minutes"]
    about = ("--mechanic", "Ana", "--vehicle", "Ostler", "--keys", "--quiet")
    companion("work", PROCEDURES / "sump-reseal.yaml", *about, typed="\n".join([*said, "hold the job\n"]))
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    return log.stem


def test_jobs_tells_what_was_done_by_whom_and_when(companion, job):
    shown = companion("jobs", job).stdout
    assert "RECORD OF WORK: Sump reseal" in shown
    assert 'said "battery disconnected"' in shown
    (note,) = [line for line in shown.splitlines() if "the clip is <loose>" in line]
    assert note.endswith("Ana")
    assert "Timer of 10 min." in shown
    record = json.loads(companion("jobs", job, "--json").stdout)["record"]
    assert record["noted"][0]["note"] == "the clip is <loose>"
    assert record["noted"][0]["by"] == "Ana"


def test_who_goes_on_is_told_too(companion, job):
    ben = ("--mechanic", "Ben", "--keys", "--quiet")
    companion("work", "--job", job, *ben, typed="note it was the other clip\n")
    notes = json.loads(companion("jobs", job, "--json").stdout)["record"]["noted"]
    assert [note["by"] for note in notes] == ["Ana", "Ben"]


def test_the_page_is_written_whole_over_an_older_one(companion, job, tmp_path):
    page = tmp_path / "record.html"
    page.write_text("an older page")
    result = companion("jobs", job, "--record", page)
    assert result.returncode == 0, result.stderr
    assert "record.html" in result.stdout
    text = page.read_text()
    assert text.startswith("<!doctype html>")
    assert text.endswith("</html>\n")
    assert "&lt;loose&gt;" in text
    assert [path.name for path in tmp_path.iterdir() if ".part" in path.name] == []


def test_the_log_of_a_job_is_never_written_over(companion, job, tmp_path):
    log = tmp_path / "logs" / f"{job}.jsonl"
    before = log.read_bytes()
    result = companion("jobs", job, "--record", log)
    assert result.returncode == 2
    assert "name of a job's log" in result.stderr
    assert log.read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["JOB", "--record", "no/such/folder/page.html"], "no such file or folder"),
        (["nobody", "--record", "page.html"], "there is no such file or folder"),
        (["--record", "page.html"], "need the name of a job"),
        (["JOB", "--record", "a.html", "--handover", "b.html"], "one at a time"),
    ],
)
def test_what_cannot_be_is_one_line(companion, job, arguments, says):
    result = companion("jobs", *(job if word == "JOB" else word for word in arguments))
    assert result.returncode == 2
    assert says in result.stderr
    assert "Traceback" not in result.stderr
