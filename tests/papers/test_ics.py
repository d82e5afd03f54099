"""What is due as RFC 5545, read back by parsers that did not write it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from hypothesis import given
from hypothesis import strategies as st

from companion.job.facts.sayings import Priority
from companion.papers.ics import DueEntry, calendar_of

STAMP = datetime(2031, 4, 2, 12, 0, tzinfo=UTC)
DUE = datetime(2031, 4, 3, 8, 15, tzinfo=UTC)
CURE = DueEntry("Full cure of the sump sealant", DUE, "sump-1", "Tarn 1.6", Priority.URGENT, "cure-1")
RETORQUE = DueEntry("Retorque the wheel bolts", DUE + timedelta(days=7), "wheel-2")


def found(data: bytes, start: datetime = STAMP, length: timedelta = timedelta(days=30)):
    """The events that recurring-ical-events finds in a stretch of time."""
    return recurring_ical_events.of(icalendar.Calendar.from_ical(data)).between(start, start + length)


def unfolded(data: bytes) -> list[str]:
    """Content lines by our own reading of RFC 5545, 3.1: CRLF, and a space goes on with the line before."""
    return data.decode("utf-8").replace("\r\n ", "").removesuffix("\r\n").split("\r\n")


def test_what_is_due_is_found_when_it_is_due():
    data = calendar_of([RETORQUE, CURE], STAMP)
    cure, retorque = found(data)
    assert (cure["DTSTART"].dt, str(cure["SUMMARY"])) == (DUE, "Tarn 1.6: Full cure of the sump sealant")
    assert (retorque["DTSTART"].dt, str(retorque["SUMMARY"])) == (RETORQUE.due, "Retorque the wheel bolts")
    assert "sump-1" in str(cure["DESCRIPTION"])
    assert found(data, DUE + timedelta(hours=1), timedelta(days=1)) == []


def test_the_lines_a_calendar_must_have():
    """RFC 5545, 3.4 and 3.6: what VCALENDAR, VEVENT and a DISPLAY VALARM require."""
    lines = unfolded(calendar_of([CURE], STAMP))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-1] == "END:VCALENDAR"
    for required in (
        "VERSION:2.0",
        f"UID:{CURE.uid()}",
        "DTSTAMP:20310402T120000Z",
        "DTSTART:20310403T081500Z",
    ):
        assert lines.count(required) == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    alarm = lines[lines.index("BEGIN:VALARM") : lines.index("END:VALARM")]
    assert {"ACTION:DISPLAY", "TRIGGER:P0D", f"DESCRIPTION:{CURE.what}"} <= set(alarm)


@pytest.mark.parametrize(
    ("priority", "number", "repeats"),
    [(Priority.DANGER, 1, True), (Priority.URGENT, 3, True), (Priority.ROUTINE, 5, False)],
)
def test_urgency(priority, number, repeats):
    lines = unfolded(calendar_of([DueEntry("Look", DUE, "job", priority=priority)], STAMP))
    assert f"PRIORITY:{number}" in lines
    # RFC 5545, 3.6.6: REPEAT and DURATION both, or neither.
    assert ("REPEAT:3" in lines) == ("DURATION:PT5M" in lines) == repeats


def test_an_entry_stays_the_same_entry_when_written_again_or_moved():
    moved = DueEntry(
        CURE.what, CURE.due + timedelta(hours=2), CURE.job, CURE.vehicle, CURE.priority, CURE.deadline
    )
    assert moved.uid() == CURE.uid() == "f4dee528-951b-5ff8-b824-db2bbbf68b2c"
    others = [
        RETORQUE,
        DueEntry(CURE.what, CURE.due, "sump-2", CURE.vehicle, CURE.priority, CURE.deadline),
        DueEntry(CURE.what, CURE.due, CURE.job, CURE.vehicle, CURE.priority, "cure-2"),
        DueEntry(CURE.what, CURE.due, CURE.job),
        DueEntry(CURE.what, CURE.due + timedelta(seconds=1), CURE.job),
    ]
    assert len({entry.uid() for entry in [CURE, *others]}) == 6
    assert len(found(calendar_of([CURE, moved], STAMP))) == 1
    assert calendar_of([CURE, RETORQUE], STAMP) == calendar_of([RETORQUE, CURE], STAMP)


def test_a_local_time_is_written_in_utc_and_never_early():
    berlin = datetime(2031, 10, 26, 2, 30, 0, 1, tzinfo=ZoneInfo("Europe/Berlin"), fold=1)
    (event,) = found(calendar_of([DueEntry("Look", berlin, "job")], STAMP), length=timedelta(days=365))
    assert event["DTSTART"].dt == datetime(2031, 10, 26, 1, 30, 1, tzinfo=UTC)


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="no time zone"):
        calendar_of([DueEntry("Look", datetime(2031, 4, 3), "job")], STAMP)
    with pytest.raises(ValueError, match="no time zone"):
        calendar_of([CURE], datetime(2031, 4, 3))


def test_nothing_due_is_still_a_calendar():
    assert found(calendar_of([], STAMP)) == []


words = st.text(st.characters(exclude_categories=["C", "Z"], include_characters=" "), min_size=1)


@given(what=words, vehicle=words, job=words)
def test_words_come_back_as_they_were(what, vehicle, job):
    (event,) = found(calendar_of([DueEntry(what, DUE, job, vehicle)], STAMP))
    assert str(event["SUMMARY"]) == f"{vehicle}: {what}"
    assert str(event["DESCRIPTION"]) == f"Job: {job}"


def test_words_cannot_become_lines_of_the_calendar():
    evil = "Look\r\nEND:VEVENT\nBEGIN:VEVENT; a, b \\ c"
    data = calendar_of([DueEntry(evil, DUE, "job")], STAMP)
    assert unfolded(data).count("BEGIN:VEVENT") == 1
    assert max(len(line) for line in data.split(b"\r\n")) <= 75
    (event,) = found(data)
    assert str(event["SUMMARY"]) == evil.replace("\r\n", "\n")


def test_nothing_that_a_program_would_obey_reaches_a_calendar():
    evil = "wait\x1b[2J\x07\r\nATTENDEE:mailto:x\x00\u202e\x9b"
    entry = DueEntry(what=evil, due=datetime(2031, 3, 4, 9, tzinfo=UTC), job="j", vehicle="V\x0bX")
    text = calendar_of([entry], datetime(2031, 3, 4, tzinfo=UTC)).decode()
    assert not [c for c in text if not c.isprintable() and c not in "\r\n"]
    assert "\nATTENDEE" not in text
