"""Nights outside the shop's hours are neither work nor interruption."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from companion.labour.table.collect import collect
from companion.labour.table.hours import SHOP_TIME, Hours
from companion.labour.table.shop import Shop, write_shop
from companion.labour.table.stopwatch import Stopwatch
from companion.logbook.recover import read_log

Write = Callable[..., Any]
WEEK = "Mon-Fri 08:00-12:00 13:00-17:00"


@pytest.fixture(autouse=True)
def universal_time(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    import time

    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def closed(first: str, second: str, hours: str = WEEK) -> timedelta:
    ends = (datetime.fromisoformat(at).replace(tzinfo=SHOP_TIME).timestamp() for at in (first, second))
    return timedelta(seconds=Hours.parse(hours).closed_s(*ends))


@pytest.mark.parametrize(
    ("first", "second", "hours"),
    [
        ("2031-03-03 09:00", "2031-03-03 16:00", 0),  # within the day: lunch counts as work
        ("2031-03-03 16:00", "2031-03-04 09:00", 15),
        ("2031-03-07 16:50", "2031-03-10 08:10", 63),  # over a weekend
        ("2031-03-03 16:50", "2031-03-03 19:00", 0),  # two hours more in the evening are work
        ("2031-03-03 18:00", "2031-03-04 08:10", 14),
        ("2031-03-03 16:00", "2031-03-03 23:00", 6),  # six hours of silence in the evening are not
    ],
)
def test_how_long_the_shop_was_closed(first: str, second: str, hours: float) -> None:
    assert closed(first, second) == timedelta(hours=hours)


def steps(folder: Path) -> dict[str, dict[str, Any]]:
    with collect(folder) as table:
        return {row["step"]: row for row in table.query("SELECT * FROM steps")}


@pytest.fixture
def over_nights(write_log: Write, tmp_path: Path) -> Path:
    """Monday at eight: a step left running over the night, one held over it, and one with nobody there."""
    log = write_log("job-1")
    log.after(8.5 * 3600).begin("left").after(15.5 * 3600 + 600).done("left")
    log.begin("held").after(1200).add("job_held", because="parts").after(24 * 3600).add("job_carried_on")
    log.after(600).done("held")
    log.begin("away").after(300).add("session_ended").after(24 * 3600).add("session_started", boot="two")
    log.after(300).done("away")
    return tmp_path


def test_a_step_left_running_over_a_night(over_nights: Path) -> None:
    assert steps(over_nights)["left"]["active_s"] == 15.5 * 3600 + 600, "nothing is known of the shop's hours"
    write_shop(over_nights, Shop(hours=WEEK))
    assert steps(over_nights)["left"]["active_s"] == 1800 + 600, "half an hour, and ten minutes next morning"


def test_a_night_is_no_interruption(over_nights: Path) -> None:
    write_shop(over_nights, Shop(hours=WEEK))
    found = steps(over_nights)
    for step, active in (("held", 1800), ("away", 600)):
        assert found[step]["active_s"] == active
        assert found[step]["interrupted_s"] == 9 * 3600, "a day of nine hours, lunch with it"


def test_the_stopwatch_leaves_the_same_nights_out(over_nights: Path) -> None:
    write_shop(over_nights, Shop(hours=WEEK))
    watch = Stopwatch(hours=Hours.parse(WEEK))
    for record in read_log(over_nights / "job-1.jsonl").records:
        watch.see(record)
    assert watch.done == {step: row["active_s"] for step, row in steps(over_nights).items()}
    assert watch.total == 2400 + 1800 + 600


def test_other_hours_make_the_table_anew(over_nights: Path) -> None:
    for hours, active in ((WEEK, 2400), ("Mon-Sun 00:00-24:00", 15.5 * 3600 + 600), (WEEK, 2400)):
        write_shop(over_nights, Shop(hours=hours))
        assert steps(over_nights)["left"]["active_s"] == active
