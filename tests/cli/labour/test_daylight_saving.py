"""Working hours are hours on the wall, also over the nights that have 23 or 25 hours.

What is right is worked out here by zoneinfo, with the rules of Europe/Berlin.
"""

import json
import time
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from companion.cli.labour.planning import start_of
from companion.labour.plan.calendar import Calendar, Split
from companion.labour.table.hours import SHOP_TIME, Hours, later, seconds_between

BERLIN = ZoneInfo("Europe/Berlin")
CHANGES = {"spring": datetime(2031, 3, 30), "autumn": datetime(2031, 10, 26)}
NIGHTS = {"spring": 23, "autumn": 25}


@pytest.fixture(autouse=True)
def in_berlin(monkeypatch):
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize("change", CHANGES)
def test_the_time_of_the_shop_is_that_of_the_zone_at_every_half_hour(change):
    for half_hours in range(-48, 96):
        moment = CHANGES[change].replace(tzinfo=UTC) + timedelta(minutes=30 * half_hours)
        ours, theirs = moment.astimezone(SHOP_TIME), moment.astimezone(BERLIN)
        assert (ours.replace(tzinfo=None), ours.fold) == (theirs.replace(tzinfo=None), theirs.fold)
        assert (ours.utcoffset(), ours.tzname()) == (theirs.utcoffset(), theirs.tzname())
        assert ours.astimezone(UTC) == moment


@pytest.mark.parametrize("change", CHANGES)
def test_a_day_begins_at_eight_on_the_wall_before_and_after(change):
    day = CHANGES[change]
    start = start_of(f"{day - timedelta(days=1):%Y-%m-%d} 17:00")
    shop = Calendar(Hours.parse("Mon-Sun 08:00-17:00"), start, 5 * 3600)
    begin, end = shop.place(0, 3600, Split.NEVER)
    assert begin == 15 * 3600 - (24 - NIGHTS[change]) * 3600
    assert later(start, begin).replace(tzinfo=None) == day.replace(hour=8)
    assert later(start, end).astimezone(UTC) == day.replace(hour=9, tzinfo=BERLIN).astimezone(UTC)


@pytest.mark.parametrize(("change", "hours"), [("spring", 7), ("autumn", 9)])
def test_a_night_shift_is_as_long_as_the_night(change, hours):
    start = start_of(f"{CHANGES[change] - timedelta(days=1):%Y-%m-%d} 12:00")
    begin, end = next(Hours.parse("Sat 22:00-06:00").stretches(start))
    assert seconds_between(begin, end) == hours * 3600


@pytest.mark.parametrize("change", CHANGES)
def test_the_plan_its_user_sees_keeps_the_hours_and_a_cure_its_length(companion, tmp_path, change):
    """A cure of twelve hours that begins at 19:20 is over at 08:20 or 06:20, as the night is."""
    (tmp_path / "cure.yaml").write_text(CURE)
    (tmp_path / "logs").mkdir()
    saturday = CHANGES[change] - timedelta(days=1)
    hours = ("--hours", "Mon-Sun 07:00-20:00")
    told = companion("plan", "cure.yaml", "--start", f"{saturday:%Y-%m-%d} 19:00", *hours, "--json")
    assert told.returncode == 0, told.stderr
    placed = {step["step"]: step for step in json.loads(told.stdout)["steps"]}
    for step in placed.values():
        begin = datetime.fromisoformat(step["begin"])
        assert begin.utcoffset() == begin.astimezone(BERLIN).utcoffset()
    begins = {name: step["begin"][11:16] for name, step in placed.items()}
    assert begins["cured"] == {"spring": "08:20", "autumn": "06:20"}[change]
    assert begins["look"] == {"spring": "08:21", "autumn": "07:00"}[change]


CURE = """\
title: Cure
revision: "1"
applies_to: [anything]
source_of_torques: none
consumables:
  glue:
    {name: glue, product_class: silicone, skin_over: 10 min, full_cure: 12 h, reference_temperature: 23}
items:
  lid: {name: lid, kind: joint, protect: a cloth}
steps:
  - {id: off, act: remove, say: Take the lid off., book: 10 min, opens: [lid]}
  - {id: bead, act: apply, say: Put a bead on., book: 5 min, after: [off], applies: {consumable: glue}}
  - {id: on, act: fit, say: Put the lid on., book: 5 min, closes: [lid], assembles: bead}
  - {id: cured, act: wait, say: Let the glue cure., book: 1 min, waits_for: [on]}
  - {id: look, act: inspect, say: Look at it., book: 10 min, after: [cured]}
"""
