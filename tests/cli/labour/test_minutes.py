"""`companion minutes` as its user asks."""

import csv
import json

import pytest

from tests.shops.logs import write_logs
from tests.shops.shop import Shop


@pytest.fixture(autouse=True)
def logs(tmp_path):
    list(write_logs(tmp_path / "logs", Shop.of(3, steps=3), 8, title="=cmd|calc!A0"))


def test_as_table_json_and_csv(companion, tmp_path):
    shown = companion("minutes", "--csv", "minutes.csv")
    assert "Minutes over the book, by step" in shown.stdout
    rows = list(csv.DictReader((tmp_path / "minutes.csv").open()))
    lines = [json.loads(line) for line in companion("minutes", "--json").stdout.splitlines()]
    assert [row["of"] for row in rows] == [line["of"] for line in lines]
    assert {row["title"] for row in rows} == {"'=cmd|calc!A0"}
    by_month = [
        json.loads(line) for line in companion("minutes", "--by", "month", "--json").stdout.splitlines()
    ]
    assert sum(x["over_min"] for x in by_month) == pytest.approx(sum(x["over_min"] for x in lines), abs=0.01)


def test_nothing_like_that(companion):
    told = companion("minutes", "--vehicle", "no such car")
    assert told.returncode == 0
    assert "No finished step like that is logged" in told.stdout


@pytest.mark.parametrize("wrong", [("--since", "March"), ("--until", "2031-02-30"), ("--by", "moon")])
def test_bad_questions_are_one_line(companion, wrong):
    told = companion("minutes", *wrong)
    assert told.returncode == 2
    assert wrong[1] in told.stderr
    assert "Traceback" not in told.stderr
