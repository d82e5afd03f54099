"""What is due is shown for the next weeks; what lies beyond is counted, and never lost."""

import json
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

import icalendar
import pytest

from companion.work.edges.clock import StagedClock, SystemClock
from tests.work.conftest import Bench


def closed(logs: Path, begun: datetime, procedure: str = "coolant-pump") -> str:
    """A job that is done to its end, with its follow-ups ahead."""
    bench = Bench(logs, StagedClock(begun))
    bench.begin(procedure)
    while not bench.session.state.closed:
        bench.obliges()
    bench.leave()
    return bench.log.stem


@pytest.fixture(scope="module")
def now() -> datetime:
    return SystemClock().now().wall


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory, now: datetime) -> Path:
    """One job with a follow-up in a day, one in years."""
    folder = tmp_path_factory.mktemp("weeks")
    closed(folder, now - timedelta(days=2))
    return folder


@pytest.fixture
def due(companion, logs):
    return partial(companion, "due", "--logs", logs)


def test_what_has_a_day_and_a_distance_is_told_once_in_its_own_words(due):
    lines = due().stdout.splitlines()
    (check,) = [line for line in lines if "coolant level" in line]
    assert "after the next heat cycle or 100 km, whichever comes first" in check
    assert "in " in check


def test_what_lies_beyond_is_counted_and_one_that_may_come_sooner_told(due):
    *_, last = due().stdout.splitlines()
    assert last.startswith("1 more is due later (1 by distance or heat cycles, which may come sooner)")
    assert last.endswith("'companion due --all' lists them.")
    assert "Next change" not in due().stdout


def test_all_lists_it_and_counts_nothing(due):
    shown = due("--all").stdout
    assert shown.count("Next change of coolant") == 1
    assert "later" not in shown


def test_a_day_can_be_named_and_counts_to_its_end(due):
    soon, far = (json.loads(line) for line in due("--json").stdout.splitlines())
    day = datetime.fromisoformat(soon["due"]).astimezone().date()
    assert "coolant level" in due("--until", day).stdout
    before = due("--until", day - timedelta(days=1)).stdout.splitlines()
    assert before[0].startswith("2 more are due later (2 by distance")
    assert before[1:] == ["Nothing else is due."]
    day = datetime.fromisoformat(far["due"]).astimezone().date()
    assert "later" not in due("--until", day).stdout


def test_json_and_the_calendar_hold_all_unless_a_day_is_named(due, tmp_path):
    whole = due("--json", "--ics", "all.ics").stdout.splitlines()
    found = [json.loads(line) for line in whole]
    assert [(f["distance_km"], f["heat_cycles"]) for f in found] == [(100, 1), (90000, None)]
    day = datetime.fromisoformat(found[0]["due"]).astimezone().date()
    assert due("--json", "--until", day).stdout.splitlines() == whole[:1]
    told = due("--ics", "some.ics", "--until", day).stdout.splitlines()[-1]
    assert told == "Calendar: some.ics, one entry; 1 later left out"
    counts = {
        name: len(icalendar.Calendar.from_ical((tmp_path / name).read_bytes()).walk("VEVENT"))
        for name in ("all.ics", "some.ics")
    }
    assert counts == {"all.ics": 2, "some.ics": 1}
    for name in ("--until", "--json", "--ics"):
        assert name in due("--help").stdout


def test_what_is_late_is_never_beyond(companion, tmp_path, now):
    closed(tmp_path / "logs", now - timedelta(days=40), "front-brakes")
    due = partial(companion, "due")
    day = now.astimezone().date() - timedelta(days=3)
    assert "LATE by" in due().stdout
    assert "LATE by" in due("--until", day).stdout


@pytest.mark.parametrize("wrong", [["soon"], ["2031-02-30"], ["0000-01-01"], ["2031-01-01", "--all"]])
def test_a_day_that_is_none_is_told(due, wrong):
    result = due("--until", *wrong)
    assert result.returncode == 2
    assert "Traceback" not in result.stderr
