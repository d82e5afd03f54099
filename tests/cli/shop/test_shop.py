"""`companion shop`: said once, used everywhere, and refused in one line where it makes no sense."""

import json
from pathlib import Path

import pytest

from companion.job.facts.work_digest import work_digest
from companion.labour.table.shop import shop_of
from companion.procedure.read import read_procedure
from tests.labour.conftest import LogWriter

SUMP = Path(__file__).parents[3] / "procedures" / "sump-reseal.yaml"


def test_what_is_said_stays_said(companion, tmp_path):
    logs = tmp_path / "logs"
    assert "Nothing is said of the shop" in companion("shop", "--logs", logs).stdout
    companion("shop", "--logs", logs, "--name", "Lindenhof Garage", "--rate", "75", "--currency", "EUR")
    told = companion("shop", "--logs", logs, "--hours", "Mon-Fri 08:00-16:00", "--tax", "sales tax 19").stdout
    for words in ("Lindenhof Garage", "75 EUR", "Mon-Fri 08:00-16:00", "sales tax 19 %"):
        assert words in told
    assert shop_of(logs).name == "Lindenhof Garage"
    told = companion("shop", "--logs", logs, "--name", "").stdout
    assert "Lindenhof" not in told
    assert "75 EUR" in told


@pytest.mark.parametrize(
    ("said", "why"),
    [
        (("--hours", "always"), "write 'Mon-Fri 08:00-12:30"),
        (("--closed", "Easter"), "write it like 2031-04-14"),
        (("--tax", "19"), "write it like 'sales tax 19'"),
        (("--tax", "sales tax 1900"), "write it like 'sales tax 19'"),
        (("--rate", "much"), "much"),
        (("--name", "x" * 999), "200 characters"),
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_is_written(companion, tmp_path, said, why):
    told = companion("shop", "--logs", tmp_path, *said)
    assert told.returncode == 2
    (line,) = told.stderr.splitlines()
    assert why in line
    assert not (tmp_path / "shop.yaml").exists()


@pytest.mark.parametrize(
    "content", [b"\xff", b"name: [", b"- 1", b"nmae: x", b"hours: 'Mon'", b"x" * 100_001], ids=repr
)
def test_a_file_that_makes_no_sense_is_one_line(companion, tmp_path, content):
    (tmp_path / "shop.yaml").write_bytes(content)
    (tmp_path / "job.jsonl").write_text("")
    for command in (("shop",), ("times",), ("plan", SUMP)):
        told = companion(*command, "--logs", tmp_path)
        assert told.returncode == 2, command
        (line,) = told.stderr.splitlines()
        assert "shop.yaml" in line


def test_the_plan_goes_by_the_hours_said(companion, tmp_path):
    asked = ("plan", SUMP, "--start", "2031-03-04 09:00", "--json", "--logs", tmp_path)
    usual = json.loads(companion(*asked).stdout)
    companion("shop", "--logs", tmp_path, "--hours", "Sat 08:00-20:00")
    assert json.loads(companion(*asked).stdout) != usual


def test_wordings_that_are_joined_are_told_and_can_be_parted(companion, tmp_path):
    logs = tmp_path / "logs"
    (logs / "procedures").mkdir(parents=True)
    before = SUMP.read_text(encoding="utf-8")
    first = read_procedure(SUMP).steps[0].id
    for n, text in enumerate((before, before.replace(first, "renamed-" + first))):
        kept = logs / "procedures" / f"{n:016x}.yaml"
        kept.write_text(text, encoding="utf-8")
        procedure = read_procedure(kept)
        log = LogWriter(logs, f"job-{n}", day=n, title=procedure.title)
        for step in procedure.steps:
            log.begin(step.id, work_digest(step), str(step.act), 60).after(60).done(step.id)
    shown = companion("times", "--logs", logs).stdout
    told = f"'{first}' is now 'renamed-{first}': the same work in other words"
    assert told in " ".join(shown.split())
    assert not [line for line in shown.splitlines() if line.startswith(f"{first} ")]
    companion("shop", "--logs", logs, "--not-same", procedure.title, first, f"renamed-{first}")
    shown = companion("times", "--logs", logs).stdout
    assert told not in " ".join(shown.split())
    assert [line for line in shown.splitlines() if line.startswith(f"{first} ")]
