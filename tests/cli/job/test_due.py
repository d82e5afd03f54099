"""What is due over all jobs, as its user asks for it; as a calendar, read back by another program."""

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import icalendar
import pytest
import recurring_ical_events

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.sayings import Priority
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.work.edges.clock import StagedClock, SystemClock
from companion.work.edges.wake import StagedWaker
from companion.work.opening import Particulars, new_job
from companion.work.session import Edges, Session
from companion.work.views.plain_view import PlainLines
from tests.helpers.said import heard

SUMP = Path(__file__).parents[3] / "procedures" / "sump-reseal.yaml"


def timers(logs: Path, vehicle: str, begun: datetime, *minutes: float) -> str:
    """A job left with timers running."""
    clock = StagedClock(begun)
    job = new_job(SUMP, logs, Particulars(vehicle, "Ana"), clock)
    session = Session(job.state, Edges(job.logbook, clock, Mouth(SilentVoice()), StagedWaker(), PlainLines()))
    session.handle(msg.Opened(clock.boot(), job.particulars))
    for length in minutes:
        session.handle(heard(Command.START_TIMER, {"minutes": str(length)}))
    job.logbook.close()
    return job.logbook.path.stem


@pytest.fixture
def now() -> datetime:
    return SystemClock().now().wall


@pytest.fixture
def logs(tmp_path: Path, now: datetime) -> Path:
    folder = tmp_path / "logs"
    timers(folder, "Marlow Tern", now, 90, 20)
    timers(folder, "Hathersen Plover", now - timedelta(hours=3), 60)
    return folder


def test_each_vehicle_has_its_own_the_soonest_first_and_the_late_one_is_marked(companion, logs, now):
    timers(logs, "hathersen  plover", now, 5)
    lines = companion("due").stdout.splitlines()
    assert [line for line in lines if not line.startswith(" ")] == ["Hathersen Plover", "Marlow Tern"]
    assert len(lines) == 6
    assert "LATE by 2 h" in lines[1]
    assert re.search(r"in [45] min", lines[2]), "the same vehicle, however it is typed"
    assert re.search(r"in (20|1\d) min", lines[4])
    assert re.search(r"in 1 h (30|2\d) min", lines[5])
    assert "LATE" not in "".join(lines[2:])


def test_jobs_without_a_vehicle_are_told_apart(companion, tmp_path, now):
    jobs = {timers(tmp_path / "logs", "", now, minutes) for minutes in (10, 20)}
    lines = companion("due").stdout.splitlines()
    assert {line for line in lines if not line.startswith(" ")} == {f"vehicle not told ({j})" for j in jobs}


def test_as_json_each_line_tells_how_late_it_is(companion, logs, now):
    entries = [json.loads(line) for line in companion("due", "--json").stdout.splitlines()]
    assert [e["vehicle"] for e in entries] == ["Hathersen Plover", "Marlow Tern", "Marlow Tern"]
    assert entries[0]["late_s"] == pytest.approx(7200, abs=600)
    assert [e["late_s"] for e in entries[1:]] == [0, 0]
    assert datetime.fromisoformat(entries[1]["due"]) == pytest.approx(
        now + timedelta(minutes=20), abs=timedelta(seconds=5)
    )
    assert {e["priority"] for e in entries} == {Priority.URGENT.name.lower()}


def test_the_calendar_is_read_back_by_another_program(companion, logs, tmp_path, now):
    assert companion("due", "--ics", "workshop.ics").returncode == 0
    calendar = icalendar.Calendar.from_ical((tmp_path / "workshop.ics").read_bytes())
    # Independent of the library that wrote it in how times and recurrences are worked out.
    events = recurring_ical_events.of(calendar).between(now - timedelta(days=1), now + timedelta(days=1))
    listed = [json.loads(line) for line in companion("due", "--json").stdout.splitlines()]
    whole = {datetime.fromisoformat(e["due"]) for e in listed}
    starts = sorted(event["DTSTART"].dt for event in events)
    assert starts == pytest.approx(sorted(whole), abs=timedelta(seconds=1))
    assert all(start >= due for start, due in zip(starts, sorted(whole), strict=True))
    assert all(event.walk("VALARM")[0]["ACTION"] == "DISPLAY" for event in events)


def test_one_log_that_cannot_be_read_hides_no_other_and_is_told(companion, logs):
    path = next(logs.glob("*.jsonl"))
    (logs / "2031-01-01-spoilt-1.jsonl").write_text("not json\nnor this\n")
    result = companion("due")
    assert result.returncode == 2
    assert len(result.stdout.splitlines()) == 5
    (line,) = result.stderr.splitlines()
    assert "spoilt" in line
    assert "more may be due" in line
    assert path.exists()


def test_nothing_due(companion, tmp_path):
    (tmp_path / "logs").mkdir()
    assert companion("due").stdout == "Nothing is due.\n"


@pytest.mark.parametrize("wrong", [["--logs", "nowhere"], ["--ics", "no/such/folder/due.ics"]])
def test_what_cannot_be_read_or_written_is_one_line(companion, logs, wrong):
    result = companion("due", *wrong)
    assert result.returncode == 2
    assert len(result.stderr.splitlines()) == 1
    assert wrong[1].split("/")[0] in result.stderr


class TestHandover:
    def test_a_held_job_gets_its_page_beside_the_log_and_the_view_tells_where(self, companion, tmp_path):
        typed = "yes\nyes\nyes\nyes\nbattery disconnected\nhold the job\n"
        result = companion("work", SUMP, "--keys", "--quiet", "--vehicle", "Marlow <Tern>", typed=typed)
        (page,) = (tmp_path / "logs").glob("*.handover.html")
        assert page.name in result.stdout
        html = page.read_text()
        assert "Marlow &lt;Tern&gt;" in html
        assert "prove again that the battery is dead" in html
        assert "src=" not in html
        assert "Do first on return" in page.with_suffix(".txt").read_text()

    def test_it_can_be_had_again_for_any_job(self, companion, tmp_path, now):
        job = timers(tmp_path / "logs", "Marlow Tern", now.astimezone(UTC), 30)
        result = companion("jobs", job, "--handover", "page.html")
        assert result.returncode == 0, result.stderr
        assert "Marlow Tern" in result.stdout
        assert "timer of 30 min" in result.stdout
        assert (tmp_path / "page.html").read_text().startswith("<!doctype html>")

    @pytest.mark.parametrize("arguments", [["nobody", "--handover", "p.html"], ["--handover", "p.html"]])
    def test_a_job_that_is_not_there(self, companion, logs, arguments):
        result = companion("jobs", *arguments)
        assert result.returncode == 2
        assert "Traceback" not in result.stderr


class TestPartsExpected:
    """At the desk: a part of a job that nobody is working on is awaited, and comes."""

    @pytest.fixture
    def job(self, tmp_path, now) -> str:
        return timers(tmp_path / "logs", "Marlow <Tern>", now)

    def test_it_is_listed_handed_over_and_goes_into_the_calendar(self, companion, tmp_path, job, now):
        result = companion("jobs", job, "--await", "drain plug & ring", "--days", "3")
        assert result.returncode == 0, result.stderr
        assert "The drain plug & ring is expected." in result.stdout
        assert re.search(r"in 3 days +The drain plug & ring is expected", companion("due").stdout)
        assert "drain plug & ring is expected" in companion("jobs", job).stdout
        page = companion("jobs", job, "--handover", "page.html")
        assert "Curing and awaited" in page.stdout
        assert "the drain plug & ring is expected in" in page.stdout
        assert "the drain plug &amp; ring is expected in" in (tmp_path / "page.html").read_text()
        assert companion("due", "--ics", "due.ics").stdout.endswith("one entry\n")
        calendar = icalendar.Calendar.from_ical((tmp_path / "due.ics").read_bytes())
        (event,) = recurring_ical_events.of(calendar).between(now, now + timedelta(days=4))
        assert event["SUMMARY"] == "Marlow <Tern>: The drain plug & ring should be here now."
        assert event["DTSTART"].dt == pytest.approx(now + timedelta(days=3), abs=timedelta(minutes=5))
        assert event.walk("VALARM")[0]["ACTION"] == "DISPLAY"

    def test_one_that_has_come_is_due_no_more(self, companion, job):
        companion("jobs", job, "--await", "strainer", "--days", "0.5")
        arrived = companion("jobs", job, "--arrived", "the Strainer")
        assert arrived.stdout == "No longer awaited: the Strainer.\n"
        assert companion("due").stdout == "Nothing is due.\n"

    def test_the_car_knows_what_the_desk_wrote(self, companion, job):
        companion("jobs", job, "--await", "strainer", "--days", "2")
        result = companion("work", "--resume", "--keys", "--quiet", typed="hold the job because lunch\n")
        assert "Job held: lunch." in result.stdout
        assert "The strainer is expected in 2 days." in result.stdout

    @pytest.mark.parametrize(
        ("arguments", "says"),
        [
            (["--await", "plug"], "give both"),
            (["--days", "3"], "give both"),
            (["--await", "plug", "--days", "0"], "range"),
            (["--await", "plug", "--days", "nan"], "not a number"),
            (["--await", "plug", "--days", "400"], "range"),
            (["--await", " ", "--days", "4"], "name the part"),
            (["--arrived", "plug"], "the plug is not awaited; what is awaited: nothing"),
            (["--done", "oil"], "the job is not closed"),
            (["--arrived", "plug", "--await", "plug", "--days", "1"], "one at a time"),
        ],
    )
    def test_what_cannot_be_is_one_line_and_changes_nothing(self, companion, tmp_path, job, arguments, says):
        (log,) = (tmp_path / "logs").glob("*.jsonl")
        before = log.read_bytes()
        result = companion("jobs", job, *arguments)
        assert result.returncode == 2
        assert re.search(says, result.stderr)
        assert "Traceback" not in result.stderr
        assert log.read_bytes() == before

    def test_a_job_that_is_being_worked_on_is_left_alone(self, companion, tmp_path, job):
        from companion.logbook.logbook import FileLogbook

        book, _ = FileLogbook.resume(tmp_path / "logs", job, datetime.now(UTC))
        try:
            result = companion("jobs", job, "--await", "plug", "--days", "1")
        finally:
            book.close()
        assert result.returncode == 2
        assert "at work on this job" in result.stderr

    def test_the_handover_page_of_a_held_job_tells_what_the_desk_wrote(self, companion, tmp_path, job):
        companion("work", "--resume", "--keys", "--quiet", typed="hold the job because lunch\n")
        (page,) = (tmp_path / "logs").glob("*.handover.html")
        text = page.with_suffix(".txt")
        assert "strainer" not in page.read_text()
        for days, when in (("4", "in 4 days"), ("2", "in 2 days")):
            awaited = companion("jobs", job, "--await", "strainer", "--days", days)
            assert awaited.stdout.endswith(f"Handover page: logs/{page.name}\n")
            assert f"the strainer is expected {when}." in text.read_text()
            assert "the strainer is expected" in page.read_text()
        companion("jobs", job, "--arrived", "strainer")
        assert "is expected" not in page.read_text() + text.read_text(), "it has come"

    def test_a_held_job_that_lost_its_page_gets_one_and_one_that_never_had_one_does_not(
        self, companion, tmp_path, job
    ):
        companion("jobs", job, "--await", "plug", "--days", "1")
        assert not list((tmp_path / "logs").glob("*.handover.*"))
        companion("work", "--resume", "--keys", "--quiet", typed="hold the job because lunch\n")
        (page,) = (tmp_path / "logs").glob("*.handover.html")
        page.unlink()
        companion("jobs", job, "--await", "strainer", "--days", "2")
        assert "the strainer is expected" in page.read_text()

    def test_a_page_that_cannot_be_written_is_told_and_the_part_is_awaited_all_the_same(
        self, companion, tmp_path, job
    ):
        (tmp_path / "logs" / f"{job}.handover.html").mkdir()
        result = companion("jobs", job, "--await", "strainer", "--days", "2")
        assert result.returncode == 2
        assert "The strainer is expected." in result.stdout
        (line,) = result.stderr.splitlines()
        assert f"{job}.handover.html" in line
        assert "The strainer is expected" in companion("due").stdout

    def test_a_word_at_the_desk_does_not_make_it_the_job_last_worked_on(self, companion, tmp_path, job, now):
        other = timers(tmp_path / "logs", "Hathersen Plover", now + timedelta(seconds=5))
        companion("jobs", job, "--await", "plug", "--days", "1")
        assert companion("jobs").stdout.splitlines()[1].startswith(other)
