"""What a folder of logs holds."""

from __future__ import annotations

import os
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import LogbookError
from companion.job.facts.events import JobCarriedOn, JobClosed, JobHeld, StepDone, WorkStopped
from companion.logbook.job_names import checked_name, log_path, new_job_name
from companion.logbook.jobs import JobSummary, job_names, list_jobs
from companion.logbook.logbook import FileLogbook

TODAY = datetime(2031, 4, 2, 23, 30, tzinfo=timezone(timedelta(hours=9)))


@pytest.fixture
def logged(tmp_path, numbered, opened):
    """Logs a job of these events in `tmp_path`."""

    def log(job, *events, after=b""):
        records = numbered(opened.model_copy(update={"job": job}), *events)
        book = FileLogbook.create(tmp_path, job)
        book.append(records)
        book.close()
        with book.path.open("ab") as file:
            file.write(after)
        return records

    return log


def test_a_job_is_summed_up(tmp_path, logged, opened):
    records = logged("one", StepDone(step="a"))
    (job,) = list_jobs(tmp_path)
    assert job == JobSummary(
        job="one",
        title=opened.title,
        vehicle=opened.vehicle,
        mechanic=opened.mechanic,
        mechanics=(opened.mechanic,),
        first=records[0].at,
        last=records[1].at,
    )
    assert job.open_items is None


@pytest.mark.parametrize(
    ("events", "held", "closed"),
    [
        ([JobHeld()], True, False),
        ([JobHeld(), StepDone(step="a")], True, False),
        ([JobHeld(), JobCarriedOn()], False, False),
        ([WorkStopped()], True, False),
        ([JobHeld(), JobCarriedOn(), JobHeld()], True, False),
        ([JobClosed()], False, True),
        ([JobHeld(), JobClosed()], False, True),
    ],
)
def test_held_and_closed(tmp_path, logged, events, held, closed):
    logged("one", *events)
    (job,) = list_jobs(tmp_path)
    assert (job.held, job.closed) == (held, closed)


def test_the_job_last_worked_on_comes_first_and_those_in_trouble_last(tmp_path, logged):
    logged("early", StepDone(step="a"))
    logged("late", *[StepDone(step="a")] * 9)
    (tmp_path / "bad.jsonl").write_bytes(b"shopping\nlist\n")
    assert [job.job for job in list_jobs(tmp_path)] == ["late", "early", "bad"]


@pytest.mark.parametrize("tail", [b"half", b"\0\0\n", b'{"seq": 3'])
def test_a_torn_line_is_told_and_left_alone(tmp_path, logged, tail):
    records = logged("one", StepDone(step="a"), after=tail)
    before = (tmp_path / "one.jsonl").read_bytes()
    (job,) = list_jobs(tmp_path)
    assert job.torn
    assert not job.trouble
    assert job.last == records[-1].at
    assert (tmp_path / "one.jsonl").read_bytes() == before
    assert job_names(tmp_path) == ["one"]


def test_a_job_whose_start_failed_is_no_trouble(tmp_path, logged):
    logged("good")
    (tmp_path / "bad.jsonl").write_bytes(b"")
    good, bad = list_jobs(tmp_path)
    assert good.begun
    assert (bad.begun, bad.trouble) == (False, "")


@pytest.mark.parametrize(
    ("content", "trouble"),
    [
        (b"half", "no event"),
        (b"\xff\xfe\nx\ny\n", ":1: this line is not JSON"),
        (b'{"seq": 1}\n', "no time"),
        (b'{"at": "today"}\n', "no time"),
        (b'{"at": 7}\n', "no time"),
        (b'{"at": "2031-04-02T08:00:00"}\n', "no time zone"),
    ],
)
def test_one_bad_log_does_not_hide_the_others(tmp_path, logged, content, trouble):
    logged("good")
    (tmp_path / "bad.jsonl").write_bytes(content)
    good, bad = list_jobs(tmp_path)
    assert (good.job, good.trouble) == ("good", "")
    assert bad.job == "bad"
    assert trouble in bad.trouble
    assert "\n" not in bad.trouble


def test_a_log_that_may_not_be_read_is_listed_as_such(open_folder, as_nobody):
    log = open_folder / "secret.jsonl"
    log.write_bytes(b"{}\n")
    log.chmod(0)
    with as_nobody():
        (job,) = list_jobs(open_folder)
    assert "permission denied" in job.trouble


def test_no_folder(tmp_path):
    with pytest.raises(LogbookError, match=r"no such folder.*--logs"):
        list_jobs(tmp_path / "logs")
    assert job_names(tmp_path / "logs") == []
    assert list_jobs(tmp_path) == []


def test_a_new_job_is_named_by_day_and_title():
    assert new_job_name("Sump reseal", TODAY, []) == "2031-04-02-sump-reseal-1"


def test_a_name_is_never_used_again_even_where_one_is_missing():
    existing = ["2031-04-02-sump-reseal-1", "2031-04-02-sump-reseal-3", "2031-04-02-sump-reseal-x", "other-9"]
    assert new_job_name("Sump reseal", TODAY, existing) == "2031-04-02-sump-reseal-4"


@given(title=st.text(), taken=st.integers(0, 3))
def test_any_title_makes_a_name_that_is_allowed_and_new(title, taken):
    existing: list[str] = []
    for _ in range(taken + 1):
        name = new_job_name(title, TODAY, existing)
        assert checked_name(name) == name
        assert name not in existing
        existing.append(name)


@given(name=st.one_of(st.text(), st.from_regex(r"[\w./\\-]+", fullmatch=True)))
def test_no_name_leads_out_of_the_folder(name):
    try:
        path = log_path(Path("/logs"), name)
    except LogbookError:
        return
    assert os.path.normpath(path) == f"/logs/{name}.jsonl"
    assert "\0" not in name
