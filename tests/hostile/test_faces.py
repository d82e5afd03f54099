"""Text that means harm, in whatever others may write, ends harmless on every face of the program."""

import json
import shutil
import sys
from pathlib import Path

import pytest

from companion.work.edges.hook import parse_hook, run_hook
from tests.hostile.evil import (
    EVIL,
    SHOWN,
    evil_procedure,
    harmful_in_calendar,
    harmful_in_csv,
    harmful_in_html,
    obeyed_by_a_terminal,
    write_evil_log,
)
from tests.hostile.seeds import GOLDEN

AT_WORK = 120
"""Lines of the log of a job that waits for something."""


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    """Jobs, done and at work, in which each text stands wherever words may stand."""
    folder = tmp_path / "logs"
    shutil.copytree(GOLDEN / "procedures", folder / "procedures")
    for number, text in enumerate(EVIL.values()):
        write_evil_log(folder, text, f"done-{number}")
        write_evil_log(folder, text, f"open-{number}", AT_WORK)
    return folder


def on_terminal(done) -> str:
    out = str(done.stdout + done.stderr)
    assert done.returncode == 0, out
    assert obeyed_by_a_terminal(out) == set()
    assert not any(line.startswith(("ATTENDEE", "END:VEVENT", "second")) for line in out.splitlines()), out
    return out


@pytest.mark.parametrize(
    "command", [["jobs"], ["jobs", "--json"], ["due"], ["due", "--json"], ["times", "--json"]]
)
def test_over_all_jobs_on_the_terminal(companion, logs, command):
    out = on_terminal(companion(*command))
    assert "ALL SAFE" in out or command[0] == "times"


def test_over_all_jobs_in_the_calendar_and_the_report(companion, tmp_path, logs):
    on_terminal(companion("due", "--ics", "due.ics"))
    data = (tmp_path / "due.ics").read_bytes()
    assert b"ALL SAFE" in data
    assert harmful_in_calendar(data) == []
    on_terminal(companion("report", "--out", "report.html"))
    assert harmful_in_html((tmp_path / "report.html").read_text()) == []


@pytest.mark.parametrize("number", range(len(EVIL)), ids=[*EVIL])
def test_one_job_on_the_terminal_and_its_pages(companion, tmp_path, logs, number):
    on_terminal(companion("jobs", f"done-{number}"))
    on_terminal(companion("jobs", f"open-{number}", "--handover", "handover.html"))
    on_terminal(companion("jobs", f"done-{number}", "--record", "record.html"))
    on_terminal(
        companion("work", "--job", f"open-{number}", "--keys", "--quiet", typed="help\nwhat is open\n")
    )
    for page in ("handover.html", "record.html"):
        assert harmful_in_html((tmp_path / page).read_text()) == []


@pytest.mark.parametrize("what", SHOWN)
def test_a_procedure(companion, tmp_path, what):
    (tmp_path / "job.yaml").write_text(evil_procedure(SHOWN[what]))
    on_terminal(companion("check", "job.yaml"))
    on_terminal(companion("phrases", "--procedure", "job.yaml", "--step", "unplug"))
    on_terminal(companion("quote", "job.yaml", "--steps", "--csv", "quote.csv", "--html", "quote.html"))
    on_terminal(companion("plan", "job.yaml", "--html", "plan.html"))
    on_terminal(companion("work", "job.yaml", "--keys", "--quiet", typed="yes\nyes\nyes\nhelp\n"))
    assert harmful_in_csv((tmp_path / "quote.csv").read_text()) == []
    for page in ("quote.html", "plan.html"):
        assert harmful_in_html((tmp_path / page).read_text()) == []
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    assert log.stem.replace("-", "").replace("_", "").isalnum()
    assert {p.name for p in tmp_path.iterdir()} == {
        "job.yaml",
        "logs",
        "quote.csv",
        "quote.html",
        "plan.html",
    }


@pytest.mark.parametrize("what", [name for name in EVIL if name not in SHOWN])
def test_what_cannot_be_shown_is_refused_in_a_procedure(companion, tmp_path, what):
    text = EVIL[what].encode("utf-8", "replace").decode()
    (tmp_path / "job.yaml").write_text(f"title: {json.dumps(text)}\n")
    told = companion("work", "job.yaml", "--keys", "--quiet")
    assert told.returncode == 2
    assert obeyed_by_a_terminal(told.stderr) == set()
    assert len(told.stderr.splitlines()) == 1


@pytest.mark.parametrize("what", EVIL)
def test_options(companion, tmp_path, what):
    text = EVIL[what].replace("\0", "").replace("\ud800", "")  # no system hands these over
    (tmp_path / "job.yaml").write_text(evil_procedure("words"))
    about = (f"--vehicle={text}", f"--mechanic={text}")
    on_terminal(companion("work", "job.yaml", "--keys", "--quiet", *about, typed="yes\nyes\nhelp\n"))
    priced = (f"--part={text.replace('=', '')}=1", "--rate=75", f"--currency={text}")
    on_terminal(companion("quote", "job.yaml", *priced, "--csv", "quote.csv", "--html", "quote.html"))
    assert harmful_in_csv((tmp_path / "quote.csv").read_text()) == []
    assert harmful_in_html((tmp_path / "quote.html").read_text()) == []
    for wrong in (
        ["times", f"--title={text}"],
        ["forget", f"--person={text}", "--yes"],
        ["quote", f"{text}.yaml"],
    ):
        told = companion(*wrong)
        assert told.returncode in (0, 2)
        assert obeyed_by_a_terminal(told.stdout + told.stderr) == set()
        assert len(told.stderr.splitlines()) <= 1 or told.stderr.startswith("Usage"), told.stderr


@pytest.mark.parametrize("what", EVIL)
def test_the_alarm_command_gets_it_as_one_word_that_is_no_option(tmp_path, what):
    told = tmp_path / "told"
    script = "import json, sys; json.dump(sys.argv[2:], open(sys.argv[1], 'w'))"
    command = parse_hook(
        f'{sys.executable} -c "{script}" {told} call {{vehicle}} --for={{mechanic}} {{stage}}'
    )
    about = {"job": "j", "vehicle": EVIL[what], "mechanic": EVIL[what], "stage": "{vehicle}"}
    outcome = run_hook(command, about)
    assert outcome.worked, outcome
    call, vehicle, mechanic, stage = json.loads(told.read_text())
    assert (call, stage) == ("call", "{vehicle}"), "nothing is filled in twice"
    assert not vehicle.startswith("-")
    assert mechanic.startswith("--for=")
    for word in (vehicle, mechanic):
        assert word.replace("\u200c", "").replace("\u200d", "").isprintable()
