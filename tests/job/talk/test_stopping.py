""" "Stop" by itself: the voice falls silent; said twice, the work may be meant, and doubt stops it."""

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import replay
from companion.job.facts.said import questions as q
from companion.job.rules.expected import expected

OFFER = "Stop work? Yes or no?"


@pytest.fixture
def at_work(mechanic):
    mechanic.isolates_the_battery()
    return mechanic


@pytest.fixture
def offered(at_work):
    at_work.says(Command.STOP)
    assert at_work.says(Command.STOP) == [OFFER]
    return at_work


def test_once_it_only_stops_the_talking(at_work):
    before = at_work.state.current
    assert at_work.says(Command.STOP) == []
    assert not at_work.state.held
    assert at_work.state.current == before


@pytest.mark.parametrize("between", [lambda m: m.says(Command.WHAT_SIZE), lambda m: m.passes(minutes=5)])
def test_twice_means_at_once_and_with_nothing_in_between(at_work, between):
    at_work.says(Command.STOP)
    between(at_work)
    assert at_work.says(Command.STOP) == []


@pytest.mark.parametrize("answer", [Command.YES, Command.STOP, Command.STOP_WORK])
def test_yes_or_stop_once_more_stops_the_work(offered, answer):
    assert offered.says(answer)[0] == "Work stopped. Keep clear."
    assert offered.state.stopped


@pytest.mark.parametrize(
    "unclear",
    [
        msg.Unsure(Command.NO, None, "no", 0.3),
        msg.Unsure(Command.STOP, None, "stop", 0.3),
        msg.NotUnderstood(),
        msg.NotUnderstood("nnn", "keys"),
    ],
)
def test_an_unclear_answer_stops_the_work(offered, unclear):
    assert offered.post(unclear)[0] == "Work stopped. Keep clear."
    assert offered.state.stopped


def test_a_clear_no_goes_on_and_nothing_else_moves_the_job(offered):
    current = offered.state.current
    assert offered.says(Command.DONE)[-1] == OFFER
    assert offered.state.current == current
    assert {Command.YES, Command.NO, Command.STOP_WORK} <= set(expected(offered.state).commands)
    assert offered.says(Command.NO) == ["Going on, then."]
    assert not offered.state.held
    assert offered.state.current == current


def test_an_unclear_stop_counts_as_one_and_asks_nothing_back(at_work):
    unclear = msg.Unsure(Command.STOP, None, "stop", 0.3)
    assert at_work.post(unclear) == []
    assert at_work.state.question is None
    assert at_work.post(unclear) == [OFFER]


def test_what_was_asked_before_is_asked_again_after_a_no(at_work):
    at_work.state_is("oil drained")
    at_work.says(Command.SKIP)
    asked = at_work.state.asked
    at_work.says(Command.STOP)
    at_work.says(Command.STOP)
    assert at_work.says(Command.NO) == [asked]
    assert isinstance(at_work.state.question, q.SkipReason)
    at_work.says(Command.WORDS, text="the plug is seized")
    assert "unplug" in at_work.state.settled
    lines = [
        ev.Record(seq=n, at=at.wall, mono=at.mono, event=event).line()
        for n, (event, at) in enumerate(at_work.events, start=1)
    ]
    assert replay(at_work.procedure, [ev.Record.from_line(line) for line in lines]) == at_work.state


def test_when_the_work_is_stopped_already_it_is_not_offered_again(at_work):
    at_work.says(Command.STOP_WORK)
    at_work.says(Command.STOP)
    assert at_work.says(Command.STOP) == []
