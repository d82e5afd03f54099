"""Minutes over the book: summed by job, told with their range, and the same whatever they are summed by."""

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from companion.labour.answers.minutes import Minutes, Only, minutes
from companion.labour.table.collect import collect
from companion.labour.table.columns import MINUTES_BY
from tests.shops.logs import write_logs
from tests.shops.shop import Shop

Write = Callable[..., Any]


def told(logs: Path, by: str = "step", **only: Any) -> dict[str, Minutes]:
    with collect(logs) as table:
        return {one.of: one for one in minutes(table, by, Only(**only))}


def test_a_step_that_always_takes_longer(write_log: Write, tmp_path: Path) -> None:
    took = [600, 900, 780, 840]
    for n, seconds in enumerate(took):
        write_log(f"job-{n}", day=10 * n).begin("fit", book_s=480).after(seconds).done("fit")
    one = told(tmp_path)["fit"]
    over = np.array(took) - 480.0
    mean = stats.t.interval(0.95, 3, over.mean(), stats.sem(over))  # SciPy's interval of a mean
    assert (one.jobs, one.title) == (4, "Small job")
    assert one.over.total_seconds() == over.sum()
    assert one.each.total_seconds() == over.mean()
    assert one.low is not None
    assert one.high is not None
    assert (one.low.total_seconds(), one.high.total_seconds()) == pytest.approx(mean, rel=0.01)
    assert one.a_month == pytest.approx(4 / (31 / 30.44))
    assert one.over_a_month == one.each * one.a_month


def test_one_job_has_no_range_and_quick_work_is_below_nothing(write_log: Write, tmp_path: Path) -> None:
    write_log("job-1").begin("fit", book_s=600).after(480).done("fit")
    one = told(tmp_path)["fit"]
    assert (one.low, one.high, one.each) == (None, None, timedelta(minutes=-2))
    assert one.a_month == 1.0


def test_the_sums_agree_whatever_they_are_summed_by(tmp_path: Path) -> None:
    list(write_logs(tmp_path, Shop.of(3, steps=5), 30))
    every = {by: told(tmp_path, by) for by in MINUTES_BY}
    sums = {by: sum((one.over for one in groups.values()), timedelta()) for by, groups in every.items()}
    for by in MINUTES_BY:
        assert sums[by].total_seconds() == pytest.approx(sums["step"].total_seconds()), by
    assert set(every["procedure"]) == {"Invented job"}
    assert {len(name) for name in every["month"]} == {7}
    ordered = [one.over for one in every["mechanic"].values()]
    assert ordered == sorted(ordered, reverse=True)


def test_only_some_jobs(write_log: Write, tmp_path: Path) -> None:
    for n, (who, car) in enumerate([("Aske", "red saloon"), ("Brunla", "red saloon"), ("Aske", "white van")]):
        log = write_log(f"job-{n}", day=n, mechanic=who, vehicle=car)
        log.begin("fit", book_s=60).after(120 * (n + 1)).done("fit")
    over = {
        "all": {}, "aske": {"mechanic": "ASKE "}, "van": {"vehicle": "White van"}, "none": {"title": "Other"},
        "late": {"since": date(2031, 3, 4)}, "first": {"until": date(2031, 3, 3)},
    }  # fmt: skip
    found = {
        name: {of: one.over.total_seconds() for of, one in told(tmp_path, **o).items()}
        for name, o in over.items()
    }
    assert found["all"] == {"fit": 60 + 180 + 300}
    assert found["aske"] == {"fit": 60 + 300}
    assert found["van"] == {"fit": 300}
    assert found["none"] == {}
    assert found["late"] == {"fit": 180 + 300}
    assert found["first"] == {"fit": 60}


def test_what_was_not_finished_or_has_no_book_does_not_count(write_log: Write, tmp_path: Path) -> None:
    log = write_log("job-1").begin("fit", book_s=60).after(120).done("fit")
    log.begin("left", book_s=60).after(900).add("step_skipped", step="left", reason="no time")
    assert set(told(tmp_path)) == {"fit"}
