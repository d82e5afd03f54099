"""The same questions on Spark give the same answers; what is missing is named in one line."""

import math
import shutil
from importlib.util import find_spec
from pathlib import Path

import duckdb
import pytest

from companion.errors import LabourError
from companion.labour.answers.presence import fill
from companion.labour.table import asked_of_table as ask
from companion.labour.table import fleet
from companion.labour.table.collect import collect
from companion.labour.table.kept_sql import worded
from companion.labour.table.spells import spells
from tests.labour.conftest import LogWriter
from tests.shops.logs import write_logs
from tests.shops.shop import Shop

spark = pytest.mark.skipif(
    find_spec("pyspark") is None or shutil.which("java") is None, reason="needs the extra `fleet` and Java 17"
)


@spark
def test_spark_and_duckdb_tell_the_same(tmp_path: Path) -> None:
    list(write_logs(tmp_path, Shop.of(3, steps=5), 24, hold_every=6))
    questions = {
        "per_job": ask.per_job(),
        "by_step": ask.by_step(),
        "interruptions": ask.interruptions(),
        "slowest": ask.slowest(),
        "noted": ask.noted(ask.slowest()),
        "order": ask.usual_order(),
    }
    with collect(tmp_path) as table:
        here = {name: table.ask(question) for name, question in questions.items()}
        assert table.parquet is not None
        one = fleet.ShopTable("", table.parquet)
        with fleet.Fleet([one], "local[1]") as spark_table:
            there = {name: spark_table.ask(question) for name, question in questions.items()}
    for name, rows in here.items():
        assert rows or name == "noted"
        assert len(rows) == len(there[name]), name
        for mine, theirs in zip(_sorted(rows), _sorted(there[name]), strict=True):
            assert mine.keys() == theirs.keys()
            for column, value in mine.items():
                other = theirs[column]
                if isinstance(value, float):
                    assert math.isclose(value, other, rel_tol=1e-9, abs_tol=1e-9), (name, column)
                else:
                    assert value == other, (name, column)


@spark
def test_the_hours_of_people_are_the_same_on_spark(tmp_path: Path) -> None:
    log = LogWriter(tmp_path, "one").after(5).begin("a").after(60).add("job_held").after(9)
    log.add("session_ended").after(90_000).add("session_started", boot="one", mechanic="Ben").after(8)
    log.add("session_ended")
    step_table, spell_table = tmp_path / "steps.parquet", tmp_path / "spells.parquet"
    with duckdb.connect() as connection:
        fill(connection, spells(log.records))
        here = connection.execute(worded(ask.presence())).fetchall()
        connection.execute("COPY spells TO $path (FORMAT parquet)", {"path": str(spell_table)})
    with collect(tmp_path) as table:
        shutil.copy(table.parquet or "", step_table)
    with fleet.Fleet([fleet.ShopTable("", step_table)], "local[1]") as spark_table:
        from pyspark.sql import SparkSession

        SparkSession.active().read.parquet(str(spell_table)).createOrReplaceTempView("spells")
        there = [tuple(row.values()) for row in spark_table.ask(ask.presence())]
    assert len(here) == 2
    assert there == here


def _sorted(rows: list[dict[str, object]]) -> list[dict[str, object]]:
    return sorted(rows, key=lambda r: [str(r.get(k)) for k in ("title", "step", "job", "reason")])


def test_without_java_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fleet, "find_spec", lambda _: object())
    monkeypatch.setattr(fleet, "_java_version", lambda: None)
    with pytest.raises(LabourError, match="openjdk-17"):
        fleet.check_engine()
    monkeypatch.setattr(fleet, "_java_version", lambda: 11)
    with pytest.raises(LabourError, match="Java 11 is too old"):
        fleet.check_engine()


def test_without_pyspark_it_names_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fleet, "find_spec", lambda _: None)
    with pytest.raises(LabourError, match=r"bonnet-companion\[fleet\]"):
        fleet.check_engine()
