"""The log cannot be written in the middle of a job: it is said, the job is held, and nothing is lost."""

import resource
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

import pytest

from companion.errors import LogbookError
from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command, Kind
from companion.job.facts.sayings import Priority
from companion.logbook.recover import read_log
from tests.helpers.said import heard


@contextmanager
def full_disk(bench) -> Iterator[None]:
    """The log cannot grow; the system refuses as a full disk does."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (bench.log.stat().st_size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.fixture
def at_work(bench):
    """A check-in every ten minutes, and a few steps done."""
    bench.begin()
    bench.session.handle(msg.Opened(bench.clock.boot(), None, timedelta(minutes=10)))
    for _ in range(12):
        bench.obliges()
    return bench


def said(events: list[ev.Event]) -> list[str]:
    return [e.text for e in events if isinstance(e, ev.Said)]


def test_it_is_said_urgently_and_the_job_is_held(at_work):
    settled = dict(at_work.session.state.settled)
    with full_disk(at_work):
        events = at_work.session.handle(msg.Heard(Command.DONE))
        assert any("cannot write the log: the disk is full" in text for text in said(events))
        assert any(isinstance(e, ev.Said) and e.priority == Priority.URGENT for e in events)
        assert at_work.session.state.held
        assert at_work.session.state.settled == settled, "what was not logged does not count"
    assert at_work.session.unlogged()


@pytest.mark.parametrize(
    "command", [Command.DONE, Command.CARRY_ON, Command.NOTE, Command.SKIP, Command.HOLD]
)
def test_nothing_said_meanwhile_counts(at_work, command):
    with full_disk(at_work):
        at_work.session.handle(msg.Woken())
        before = at_work.session.state
        for _ in range(2):
            events = at_work.session.handle(heard(command, {"text": "clip broken", "reason": "no time"}))
        assert any(isinstance(e, ev.Refused) for e in events)
        after = at_work.session.state
        assert (after.settled, after.notes, after.held) == (before.settled, before.notes, True)


@pytest.mark.parametrize("command", [c for c in Command if c.row.kind in (Kind.ABOUT_JOB, Kind.ABOUT_STEP)])
def test_questions_change_nothing_and_are_answered(at_work, command):
    with full_disk(at_work):
        at_work.session.handle(msg.Woken())
        events = at_work.session.handle(msg.Heard(command))
        assert said(events)
        assert not any(isinstance(e, ev.Refused) for e in events)


def test_check_ins_and_alarms_go_on_and_are_logged_later(at_work):
    with full_disk(at_work):
        at_work.session.handle(msg.Heard(Command.DONE))
        for _ in range(30):
            at_work.clock.advance(timedelta(minutes=1))
            at_work.session.handle(msg.Woken())
        assert at_work.session.state.check_in_stage >= 3
        at_work.session.write_again()
        assert at_work.session.unlogged()
    at_work.clock.advance(timedelta(seconds=3))
    at_work.session.write_again()
    assert at_work.session.unlogged() is None
    records = read_log(at_work.log).records
    assert any(isinstance(r.event, ev.CheckInEscalated) and r.event.stage >= 3 for r in records)
    assert [r.seq for r in records] == list(range(1, len(records) + 1))
    assert isinstance(records[-1].event, ev.Said)
    assert "written again" in records[-1].event.text


def test_the_warning_is_repeated_until_it_is_acknowledged(at_work):
    with full_disk(at_work):
        at_work.session.handle(msg.Woken())
        events = list(at_work.session.handle(msg.Heard(Command.DONE)))
        for _ in range(4):
            at_work.clock.advance(timedelta(seconds=31))
            events += at_work.session.handle(msg.Woken())
        assert sum("cannot write the log" in text for text in said(events)) >= 4
        at_work.session.handle(msg.Heard(Command.GOT_IT))
        at_work.clock.advance(timedelta(seconds=31))
        assert not said(at_work.session.handle(msg.Woken()))


def test_stop_work_is_obeyed_without_a_log(at_work):
    with full_disk(at_work):
        at_work.session.handle(msg.Heard(Command.STOP_WORK))
        assert at_work.session.state.stopped


def test_when_it_can_be_written_again_the_job_goes_on_and_replays_the_same(at_work):
    with full_disk(at_work):
        at_work.session.handle(msg.Heard(Command.DONE))
        at_work.session.handle(msg.Heard(Command.WHAT_IS_OPEN))
    at_work.clock.advance(timedelta(seconds=3))
    at_work.session.write_again()
    at_work.session.handle(msg.Heard(Command.CARRY_ON))
    state = at_work.session.state
    assert not state.held
    at_work.leave()
    at_work.resume()
    assert at_work.session.state.settled == state.settled
    at_work.works_to_the_end()


def test_one_hiccup_of_the_disk_ends_nothing(at_work, monkeypatch):
    real = at_work.job.logbook.append
    calls = []

    def append(records):
        calls.append(records)
        if len(calls) == 1:
            raise LogbookError("a hiccup")
        real(records)

    monkeypatch.setattr(at_work.job.logbook, "append", append)
    before = at_work.session.state
    at_work.obliges()
    assert at_work.session.state != before
    assert not at_work.session.state.held
    assert at_work.session.unlogged() is None


def test_the_reason_is_said_without_the_name_of_the_file_and_the_advice(at_work, monkeypatch):
    def append(records):
        raise LogbookError.at("disk: two/job.jsonl", "the disk is full", "free some space")

    monkeypatch.setattr(at_work.job.logbook, "append", append)
    events = at_work.session.handle(msg.Woken())
    assert any(isinstance(e, ev.LogFailed) and e.reason == "the disk is full" for e in events)


def test_a_log_that_fails_at_the_start_ends_the_start(bench):
    bench.begin()
    with full_disk(bench), pytest.raises(LogbookError, match="disk is full"):
        bench.session.handle(msg.Opened(bench.clock.boot(), None))
