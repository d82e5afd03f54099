"""The handover page and the list of what is due, from jobs that are really worked."""

from datetime import timedelta
from html.parser import HTMLParser

import icalendar
import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.papers.due import due_over
from companion.papers.handover import as_html, as_text
from companion.papers.ics import calendar_of
from tests.helpers.said import heard
from tests.papers.jobs import Job


@pytest.fixture
def held() -> Job:
    job = Job("sump-reseal").until("plug-level-sensor")
    job.post(heard(Command.NOTE, {"text": "plug thread <worn> & bent"}))
    job.post(heard(Command.START_TIMER, {"minutes": "45"}))
    job.post(msg.Heard(Command.HOLD))
    return job


def test_the_page_tells_what_must_be_done_first(held):
    page = held.page()
    first = page.sections[0]
    assert first.heading == "Do first on return"
    assert "Before anything else prove again that the battery is dead." in first.lines[:3]
    assert first.lines[-1].startswith("Then step 30 of 41: Plug the oil level connector in")


def test_the_page_tells_everything_that_is_left(held):
    text = "\n".join(as_text(held.page()))
    for line in (
        "The oil is cool.",
        "The oil level connector is off (right rear corner of the sump): since step 10, put right in",
        "The drain plug washer is not renewed: since step 8, put right in step 31.",
        "1 drain plug: bag two.",
        "plug thread <worn> & bent (step 30)",
        "cure of the flange sealant, 1 day left.",
        "Timer started: 45 min.",
        "Vehicle Tern, grey",
    ):
        assert line in text
    assert "bag five" not in text, "the sump bolts are back in"
    assert "Job held." not in text, "what was said last was said before the hold"


def test_times_are_shown_as_the_edge_shows_them(held):
    awaited = next(s for s in held.page().sections if s.heading == "Curing and awaited")
    due = held.state.deadlines["timer:1"].due
    assert awaited.lines[0] == f"{due:%d.%m. %H:%M}: timer of 45 min, 45 min left."


def test_what_is_overdue_comes_first(held):
    held.now = Instant(held.now.wall + timedelta(hours=1), held.now.mono + timedelta(hours=1))
    assert held.page().sections[0].lines[0] == "Overdue: Timer of 45 min is over."


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.seen.append(tag)
        self.links += [value for name, value in attrs if name in ("src", "href")]
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_the_html_is_whole_escaped_and_needs_nothing_else(held):
    html = as_html(held.page())
    tags = Tags()
    tags.feed(html)
    tags.close()
    assert not tags.open
    assert all(link.startswith("#") for link in tags.links), "links lead within the page"
    assert "script" not in tags.seen
    assert "&lt;worn&gt; &amp; bent" in html
    assert "url(" not in html
    assert "@import" not in html


def test_a_closed_job_leaves_only_its_follow_ups():
    job = Job("front-brakes").until(None)
    due = due_over([job.state])
    whats = [entry.what for entry in due.entries]
    assert whats[0].startswith(
        "Tighten the wheel bolts again to 110 N·m, after 50 km or 7 days, whichever comes"
    )
    assert due.entries[0].due == job.now.wall + timedelta(days=7)
    assert [(far.distance_km, far.vehicle) for far in due.undated] == [(50, "Tern, grey")]
    assert "Then close the job" not in "\n".join(as_text(job.page()))


def test_a_follow_up_after_a_heat_cycle_has_a_day_to_ask_and_is_listed_without_one_too():
    job = Job("coolant-pump").until(None)
    due = due_over([job.state])
    text = (
        "Check the coolant level with the engine cold, after the next heat cycle or 100 km, "
        "whichever comes first"
    )
    assert due.entries[0].what == f"{text}. Has there been one?"
    assert due.entries[0].due == job.now.wall + timedelta(days=3)
    assert (due.undated[0].what, due.undated[0].when()) == (text, "after a heat cycle")
    said = " ".join(r.event.text for r in job.records if isinstance(r.event, ev.Said))
    assert f"{text}. I will ask in 3 days." in said
    calendar = icalendar.Calendar.from_ical(calendar_of(due.entries, job.now.wall))
    event = next(e for e in calendar.walk("VEVENT") if "heat cycle" in str(e["summary"]))
    assert event.walk("VALARM")[0]["ACTION"] == "DISPLAY"


def test_a_follow_up_that_is_done_is_due_no_more_dated_or_not():
    job = Job("coolant-pump").until(None)
    job.post(msg.FollowedUp("COOLANT LEVEL"))
    due = due_over([job.state])
    assert [entry.what[:22] for entry in due.entries] == ["Next change of coolant"]
    assert [far.what[:22] for far in due.undated] == ["Next change of coolant"]


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        ("coolant", "more than one follow-up is called 'coolant'"),
        ("", "more than one follow-up is called ''"),
        ("oil", "no follow-up is called 'oil'; what is left: Check the coolant level with the engine cold;"),
    ],
)
def test_which_follow_up_is_done_must_be_clear(words, reason):
    job = Job("coolant-pump").until(None)
    before = due_over([job.state])
    job.post(msg.FollowedUp(words))
    assert reason in job.records[-1].event.reason
    assert due_over([job.state]) == before


def test_an_open_job_has_nothing_to_follow_up():
    job = Job("coolant-pump")
    job.post(msg.FollowedUp("coolant level"))
    assert "the job is not closed" in job.records[-1].event.reason


def test_what_is_due_over_several_jobs_is_sorted_and_goes_into_a_calendar(held):
    closed = Job("front-brakes").until(None)
    due = due_over([closed.state, held.state])
    assert [e.due for e in due.entries] == sorted(e.due for e in due.entries)
    assert {e.job for e in due.entries} == {"front-brakes-1", "sump-reseal-1"}
    assert len({e.uid() for e in due.entries}) == len(due.entries)
    calendar = icalendar.Calendar.from_ical(calendar_of(due.entries, held.now.wall))
    summaries = {str(event["summary"]) for event in calendar.walk("VEVENT")}
    assert "Tern, grey: Timer of 45 min is over." in summaries
