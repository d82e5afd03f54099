"""`companion shops`: shops side by side, as its user asks."""

import csv
import json
from importlib.util import find_spec
from pathlib import Path

import pytest

from tests.shops.logs import write_logs
from tests.shops.shop import Shop


@pytest.fixture
def shops(tmp_path: Path) -> Path:
    for name, seed in (("=north", 1), ("south", 2)):
        list(write_logs(tmp_path / "shops" / name, Shop.of(seed, steps=4), 6))
    return tmp_path / "shops"


def test_side_by_side(companion, shops, tmp_path):
    told = companion("shops", shops / "*", "--csv", "shops.csv")
    assert told.returncode == 0, told.stderr
    assert "Invented job: time against the book" in told.stdout
    rows = list(csv.DictReader((tmp_path / "shops.csv").open()))
    assert {row["shop"] for row in rows} == {"'=north", "south"}
    lines = [json.loads(line) for line in companion("shops", shops / "*", "--json").stdout.splitlines()]
    assert [str(line["jobs"]) for line in lines] == [row["jobs"] for row in rows] == ["6", "6"]
    assert all(line["ratio_low"] < line["ratio_expected"] < line["ratio_high"] for line in lines)


def test_a_log_that_cannot_be_read_is_told_and_hides_no_other(companion, shops):
    (shops / "south" / "bad.jsonl").write_text("{\n{\n")
    told = companion("shops", shops / "*")
    assert told.returncode == 0
    assert "south: bad.jsonl" in told.stderr
    assert "=north" in told.stdout


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        (("nowhere",), "there is no such folder or step table"),
        (("shops/*", "--title", "Other job"), "there are: Invented job"),
    ],
)
def test_what_is_not_there_is_one_line(companion, shops, asked, why):
    told = companion("shops", *asked)
    assert told.returncode == 2
    (line,) = told.stderr.splitlines()
    assert why in line


@pytest.mark.skipif(find_spec("pyspark") is not None, reason="pyspark is here")
def test_without_spark_it_names_the_extra(companion, shops):
    told = companion("shops", shops / "*", "--engine", "spark")
    assert told.returncode == 2
    assert "bonnet-companion[fleet]" in told.stderr
