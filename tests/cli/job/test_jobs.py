"""The list of jobs, as whoever runs the shop reads it: who, which, how long, and what holds it up."""

import json
from pathlib import Path

import pytest

from companion.labour.table.shop import Shop, write_shop
from tests.labour.conftest import LogWriter

HEADS = ["Job", "Hours", "Last worked on", "State", "Mechanic", "Vehicle", "Procedure", "Why held"]


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    folder = tmp_path / "logs"
    folder.mkdir()
    return folder


@pytest.fixture
def held(logs: Path) -> LogWriter:
    """Two hours by two mechanics, then on hold."""
    log = LogWriter(logs, "2031-03-03-small-job-1", vehicle="Hathersen Plover", title="Small job")
    log.begin("a").after(3600).add("job_held", because="lunch").after(1800).add("job_carried_on")
    log.done("a").add("session_ended").reboot(900).add("session_started", boot="two", mechanic="Ben")
    log.begin("b").after(3600).add("heard", command="done")
    log.add("job_held", because="waiting for the water\npump")
    return log


def columns(line: str) -> dict[str, str]:
    """The cells of a row, none of which is empty."""
    found = [cell.strip() for cell in line.split("  ") if cell.strip()]
    return dict(zip(HEADS, found, strict=False))


def test_a_row_tells_hours_people_vehicle_and_why_it_is_held(companion, held):
    heads, row = companion("jobs").stdout.splitlines()
    assert [h.strip() for h in heads.split("  ") if h.strip()] == HEADS
    told = columns(row)
    assert told["Hours"] == "2.0"
    assert told["State"] == "held"
    assert told["Mechanic"] == "Aske, Ben"
    assert told["Vehicle"] == "Hathersen Plover"
    assert told["Procedure"] == "Small job"
    assert told["Why held"] == "waiting for the water pump"


def test_the_same_as_data(companion, held):
    line = json.loads(companion("jobs", "--json").stdout)
    assert line["worked_s"] == 7200
    assert line["held_because"] == "waiting for the water pump"
    assert line["mechanics"] == ["Aske", "Ben"]
    assert line["mechanic"] == "Aske"


def test_one_that_goes_on_is_held_by_nothing_and_stop_work_says_so(companion, held):
    held.add("job_carried_on")
    assert json.loads(companion("jobs", "--json").stdout)["held_because"] == ""
    held.add("work_stopped")
    assert json.loads(companion("jobs", "--json").stdout)["held_because"] == "work stopped"


def test_one_name_in_other_capitals_is_one_person(companion, logs):
    log = LogWriter(logs, "one", mechanic="Ana").add("session_ended")
    log.add("session_started", boot="two", mechanic=" ANA ").add(
        "session_started", boot="two", mechanic="Ben"
    )
    assert json.loads(companion("jobs", "--json").stdout)["mechanics"] == ["Ana", "Ben"]


def test_a_companion_that_died_worked_until_then(companion, logs):
    log = LogWriter(logs, "one").begin("a").after(1800).add("heard", command="what size")
    log.reboot(5000).add("session_started", boot="two", away_s=5000).begin("a").after(600).done("a")
    assert json.loads(companion("jobs", "--json").stdout)["worked_s"] == 2400


def test_a_night_that_nobody_announced_is_no_work(companion, logs):
    LogWriter(logs, "one").begin("a").after(24 * 3600).done("a")
    assert json.loads(companion("jobs", "--json").stdout)["worked_s"] == 24 * 3600
    write_shop(logs, Shop(hours="Mon-Sun 00:00-01:00 08:00-16:00"))
    assert json.loads(companion("jobs", "--json").stdout)["worked_s"] < 12 * 3600


def test_a_log_with_a_fault_hides_no_other_and_says_what_is_wrong(companion, logs, held):
    LogWriter(logs, "spoilt").begin("a").after(60).done("a")
    path = logs / "spoilt.jsonl"
    path.write_text(path.read_text().replace('"step_begun"', '"step_bogun"'))
    shown = companion("jobs")
    assert shown.returncode == 0
    rows = {row.split()[0]: row for row in shown.stdout.splitlines()[1:]}
    assert " 2.0 " in rows["2031-03-03-small-job-1"]
    assert "spoilt.jsonl:3" in rows["spoilt"]
    states = {line["job"]: line for line in map(json.loads, companion("jobs", "--json").stdout.splitlines())}
    assert states["spoilt"]["state"] == "trouble"
    assert states["spoilt"]["worked_s"] is None


def test_what_the_shop_says_of_itself_hides_no_job_when_it_is_spoilt(companion, logs, held):
    (logs / "shop.yaml").write_text("hours: never\n")
    shown = companion("jobs")
    assert shown.returncode == 0
    assert "small-job-1" in shown.stdout
    (line,) = shown.stderr.splitlines()
    assert "shop.yaml" in line
