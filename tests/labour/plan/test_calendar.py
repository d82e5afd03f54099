"""Working hours: read from words, and work placed in them."""

from datetime import UTC, date, datetime, timedelta
from itertools import islice
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import LabourError
from companion.labour.plan.calendar import Calendar, Split
from companion.labour.table.hours import Hours, later, seconds_between

SHOP = Hours.parse("Mon-Fri 08:00-12:30 13:00-17:00; Sat 08:00-12:00")
FRIDAY_NOON = datetime(2026, 3, 6, 12, 0)


def test_the_week_goes_on_over_the_weekend_and_holidays() -> None:
    hours = Hours.parse("Mon-Fri 08:00-12:30 13:00-17:00; Sat 08:00-12:00", closed=[date(2026, 3, 9)])
    told = [
        (b.isoformat(" ", "minutes"), e.strftime("%H:%M")) for b, e in islice(hours.stretches(FRIDAY_NOON), 4)
    ]
    assert told == [
        ("2026-03-06 12:00", "12:30"),
        ("2026-03-06 13:00", "17:00"),
        ("2026-03-07 08:00", "12:00"),
        ("2026-03-10 08:00", "12:30"),
    ]


def test_a_night_shift_ends_on_the_next_day() -> None:
    begin, end = next(Hours.parse("Fri 22:00-06:00").stretches(FRIDAY_NOON))
    assert (begin, end) == (datetime(2026, 3, 6, 22), datetime(2026, 3, 7, 6))
    after_midnight = datetime(2026, 3, 7, 1)
    assert next(Hours.parse("Fri 22:00-06:00").stretches(after_midnight)) == (after_midnight, end)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "no day to work"),
        (" , ;", "no day to work"),
        ("Mon", "missing or overlap"),
        ("Mon 08:00-12:00 11:00-17:00", "missing or overlap"),
        ("Mon 8-12", "'8-12' is not understood"),
        ("Mon 08:00-25:00", "not understood"),
        ("Noday 08:00-12:00", "'Noday' is not a day"),
    ],
)
def test_hours_that_make_no_sense_are_refused_with_an_example(text: str, fault: str) -> None:
    with pytest.raises(LabourError, match=fault) as refused:
        Hours.parse(text)
    assert "Mon-Fri 08:00-12:30" in str(refused.value)


def test_a_shop_that_never_opens_again_is_told_so() -> None:
    every_day = [date(2026, 1, 1) + timedelta(days=n) for n in range(800)]
    with pytest.raises(LabourError, match="closed for two months"):
        next(Hours.parse("Mon-Sun 08:00-17:00", closed=every_day).stretches(FRIDAY_NOON))


def test_a_wait_over_a_clock_change_keeps_its_length() -> None:
    zone = ZoneInfo("Europe/Berlin")
    before = datetime(2026, 3, 28, 20, 0, tzinfo=zone)
    assert later(before, 24 * 3600) == datetime(2026, 3, 29, 21, 0, tzinfo=zone), (
        "an hour was lost that night"
    )
    assert seconds_between(before, datetime(2026, 3, 29, 20, 0, tzinfo=zone)) == 23 * 3600
    assert later(before, 0).astimezone(UTC) == before.astimezone(UTC)


@pytest.mark.parametrize(
    ("split", "begin", "end"),
    [
        (Split.NEVER, "Fri 13:00", "Fri 14:00"),
        (Split.BREAKS, "Fri 12:00", "Fri 13:30"),
        (Split.NIGHTS, "Fri 12:00", "Fri 13:30"),
    ],
)
def test_an_hour_before_lunch(split: Split, begin: str, end: str) -> None:
    calendar = Calendar(SHOP, FRIDAY_NOON, 5 * 86400)
    found = calendar.place(0, 3600, split)
    assert found
    assert [f"{later(FRIDAY_NOON, s):%a %H:%M}" for s in found] == [begin, end]


def test_six_hours_on_friday_noon_fit_only_when_left_overnight() -> None:
    calendar = Calendar(SHOP, FRIDAY_NOON, 5 * 86400)
    told = {}
    for split in Split:
        found = calendar.place(0, 6 * 3600, split)
        told[split] = found and [f"{later(FRIDAY_NOON, s):%a %H:%M}" for s in found]
    assert told[Split.NEVER] is None, "no stretch is longer than four and a half hours"
    assert told[Split.BREAKS] == ["Mon 08:00", "Mon 14:30"]
    assert told[Split.NIGHTS] == ["Fri 12:00", "Sat 09:30"]


CALENDAR = Calendar(SHOP, FRIDAY_NOON, 3 * 86400)


@given(
    st.integers(0, 4 * 86400),
    st.integers(0, 7200),
    st.integers(1, 9 * 3600),
    st.sampled_from(list(Split)),
)
def test_starting_later_never_ends_earlier_and_every_place_is_one_of_the_pieces(
    earliest: int, more: int, length: int, split: Split
) -> None:
    first, second = CALENDAR.place(earliest, length, split), CALENDAR.place(earliest + more, length, split)
    assert first is not None or second is None
    if first:
        begin, end = first
        assert begin >= earliest
        assert CALENDAR.worked(end) - CALENDAR.worked(begin) == length, "all of it in working hours"
        pieces = [p for p in CALENDAR.pieces(length, split) if p[0] <= begin <= p[1]]
        assert [begin + length + pause for _, _, pause in pieces] == [end]
        starts = [max(low, earliest) for low, high, _ in CALENDAR.pieces(length, split) if high >= earliest]
        assert min(starts) == begin, "no earlier start is allowed"
    if first and second:
        assert second[0] >= first[0]
        assert second[1] >= first[1]


@given(st.integers(0, 4 * 86400))
def test_working_time_and_calendar_time_agree(moment: int) -> None:
    worked = CALENDAR.worked(moment)
    assert CALENDAR.moment(worked) <= max(moment, CALENDAR.begins[0])
    assert CALENDAR.worked(int(CALENDAR.moment(worked))) == worked
