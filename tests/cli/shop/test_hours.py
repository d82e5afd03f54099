"""Hours for the payroll: shown, and as files that other programs read."""

import csv
import json
from decimal import Decimal
from pathlib import Path

import duckdb
import pytest

from companion.labour.table.shop import Shop, write_shop
from tests.labour.conftest import LogWriter


@pytest.fixture(autouse=True)
def logs(tmp_path: Path) -> Path:
    """Two people on the first day, one of them alone on the second, and a night in between."""
    folder = tmp_path / "logs"
    folder.mkdir()
    log = LogWriter(folder, "one", mechanic="=Ana").begin("a").after(3600).add("job_held", because="phone")
    log.after(1800).add("job_carried_on").after(900).done("a").add("session_ended")
    LogWriter(folder, "two", day=1, mechanic="=ANA").begin("cure", act="wait").after(720).add("session_ended")
    LogWriter(folder, "three", mechanic="Ben").begin("a").after(5 * 3600).done("a").add("session_ended")
    return folder


def rows(companion, *more: object) -> list[dict]:
    result = companion("hours", "--json", *more)
    assert result.returncode == 0, result.stderr
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_each_person_and_day_has_a_row_whose_parts_add_up(companion):
    first, second, ben = rows(companion)
    parts = ("present_h", "active_h", "waiting_h", "interrupted_h", "between_h")
    assert [first[p] for p in parts] == [1.75, 1.25, 0, 0.5, 0]
    assert [second[p] for p in parts] == [0.2, 0, 0.2, 0, 0]
    assert [ben[p] for p in parts] == [5, 5, 0, 0, 0]
    assert first["person"] == second["person"], "capitals make nobody else"
    assert (first["day"], second["day"]) == ("2031-03-03", "2031-03-04")


def test_days_and_people_can_be_chosen(companion):
    assert [row["day"] for row in rows(companion, "--from", "2031-03-04")] == ["2031-03-04"]
    assert {row["day"] for row in rows(companion, "--until", "2031-03-03")} == {"2031-03-03"}
    assert [row["person"] for row in rows(companion, "--mechanic", "BEN")] == ["Ben"]


def test_csv_and_parquet_say_the_same_and_every_row_means_the_same(companion, tmp_path):
    shown = companion("hours", "--csv", "hours.csv", "--parquet", "hours.parquet").stdout
    assert "Ben: 1 day, 5.00 h present, 5.00 h of it active." in shown
    with (tmp_path / "hours.csv").open(newline="") as file:
        written = list(csv.DictReader(file))
    assert [row["person"] for row in written] == ["'=Ana", "'=Ana", "Ben"], "no formula for a spreadsheet"
    found = duckdb.sql(f"FROM '{tmp_path / 'hours.parquet'}'")
    assert dict(zip(found.columns, map(str, found.types), strict=True)) == {
        "person": "VARCHAR",
        "day": "DATE",
        "first": "TIMESTAMP",
        "last": "TIMESTAMP",
        **dict.fromkeys(("present_h", "active_h", "waiting_h", "interrupted_h", "between_h"), "DECIMAL(9,2)"),
    }
    kept = found.fetchall()
    assert len(kept) == len(written) == 3
    for row, line in zip(kept, written, strict=True):
        assert [Decimal(line[c]) for c in found.columns[4:]] == list(row[4:])
        assert row[4] == sum(row[5:])
        assert line["first"] == f"{row[2].isoformat(timespec='seconds')}Z"


def test_a_night_outside_the_shops_hours_is_left_out(companion, logs):
    LogWriter(logs, "night", day=7, mechanic="Cem").begin("a").after(24 * 3600).done("a").add("session_ended")
    whole = rows(companion, "--mechanic", "cem")
    assert sum(row["present_h"] for row in whole) == 24
    write_shop(logs, Shop(hours="Mon-Sun 06:00-16:00"))
    cut = rows(companion, "--mechanic", "cem")
    assert sum(row["present_h"] for row in cut) == 10


def test_a_log_that_cannot_be_read_hides_nobody_else(companion, logs):
    path = logs / "one.jsonl"
    path.write_text(path.read_text().replace('"step_begun"', '"step_bogun"'))
    result = companion("hours", "--json")
    assert result.returncode == 0
    assert len(result.stdout.splitlines()) == 2
    (line,) = result.stderr.splitlines()
    assert "one.jsonl:3" in line


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (["--from", "soon"], "is not a day"),
        (["--until", "2031-02-30"], "is not a day"),
        (["--mechanic", "Zoe"], "no hours of 'Zoe'"),
        (["--csv", "no/such/hours.csv"], "cannot be written"),
        (["--parquet", "logs/one.jsonl"], "give this another name"),
        (["--logs", "nowhere"], "no such folder"),
    ],
)
def test_what_cannot_be_is_one_line(companion, wrong, says):
    result = companion("hours", *wrong)
    assert result.returncode == 2
    assert says in result.stderr.splitlines()[-1]
    assert "Traceback" not in result.stderr
