"""Fasteners that must be new are asked for where they go in, and nothing else stands in for the word."""

import copy
import json

import pytest

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import fold
from companion.job.rules.wants import new_words
from companion.procedure.model import Procedure
from tests.job.conftest import SMALL

ASKED = 'New sump bolts? Say "new sump bolts".'


@pytest.fixture
def procedure() -> Procedure:
    """The sump bolts are scrap: so it is said where they come out and where they go in."""
    data = copy.deepcopy(SMALL)
    for step in data["steps"]:
        if step["id"] in ("sump-off", "sump-on"):
            step["fasteners"][0] |= {"what": "sump bolts", "renew": True}
    return Procedure.from_data(data)


@pytest.fixture
def refitting(mechanic):
    """The sump goes on again."""
    mechanic.takes_the_sump_off()
    mechanic.says(Command.DONE)
    mechanic.state_is("new seal fitted")
    mechanic.said = mechanic.says(Command.DONE)
    assert mechanic.state.current == "sump-on"
    return mechanic


def test_where_they_come_out_none_are_asked_for(mechanic):
    mechanic.takes_the_sump_off()
    assert mechanic.state.is_done("sump-off")
    assert mechanic.happened(ev.FastenersRenewed) == []


def test_they_are_asked_for_before_they_are_tightened(refitting):
    assert refitting.said[-1] == ASKED
    assert refitting.says(Command.DONE) == [f"Not yet: n{ASKED[1:]}"]
    assert refitting.says(Command.YES)[0].startswith("No: ")
    assert refitting.state_is("new seal fitted")[0].startswith("No: ")
    assert refitting.state.stage == 0
    assert refitting.state_is("new sump bolts") == ["Stage 1 of 2: 3 sump bolts, 5 N·m."]
    refitting.says(Command.DONE)
    refitting.says(Command.DONE)
    assert refitting.state.is_done("sump-on")
    assert refitting.happened(ev.FastenersRenewed) == [
        ev.FastenersRenewed(step="sump-on", fasteners="sump bolts")
    ]


def test_it_is_taken_back_after_the_stages_that_came_later(refitting):
    refitting.state_is("new sump bolts")
    refitting.says(Command.DONE)
    assert refitting.says(Command.UNDO) == ["Stage taken back.", "Stage 1 of 2: 3 sump bolts, 5 N·m."]
    assert refitting.says(Command.UNDO) == ["New sump bolts taken back.", ASKED]
    back = [e for e, _ in refitting.events if isinstance(e, ev.StageTakenBack | ev.FastenersTakenBack)]
    assert back == [
        ev.StageTakenBack(step="sump-on", stage=1),
        ev.FastenersTakenBack(step="sump-on", fasteners="sump bolts"),
    ]
    assert refitting.state.new_fasteners == ()


def test_a_step_done_anew_wants_new_ones_anew(refitting):
    refitting.state_is("new sump bolts")
    refitting.says(Command.DONE)
    refitting.says(Command.DONE)
    assert refitting.says(Command.UNDO)[-1] == ASKED


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("carrier bolts", "new carrier bolts"),
        ("the carrier bolt", "new carrier bolt"),
        ("new bolts", "new bolts"),
        ("M8 bolts, long (2)", "new bolts long"),
        ("12", "new fasteners"),
    ],
)
def test_the_word_for_them_is_plain_enough_to_be_heard(name, words):
    assert new_words(name) == words


def test_a_count_is_taken_back_by_an_event_of_its_own(mechanic):
    mechanic.isolates_the_battery()
    mechanic.state_is("oil drained")
    mechanic.says(Command.DONE)
    mechanic.says(Command.COUNT, number="1")
    mechanic.says(Command.COUNT, number="2")
    mechanic.says(Command.UNDO)
    assert mechanic.state.counted == 1
    assert mechanic.happened(ev.CountTakenBack) == [ev.CountTakenBack(step="sump-off", number=2)]
    assert [e.number for e in mechanic.happened(ev.Counted)] == [1, 2]


@pytest.mark.parametrize(
    ("line", "counted", "stage"),
    [('{"event": "counted", "step": "sump-on", "number": 1}', 1, 2),
     ('{"event": "stage_done", "step": "sump-on", "stage": 1}', 2, 1)],
)  # fmt: skip
def test_an_old_log_that_takes_back_by_the_number_before_still_folds(refitting, line, counted, stage):
    for event in (ev.Counted(step="sump-on", number=2), ev.StageDone(step="sump-on", stage=2)):
        refitting.state = fold(refitting.state, event, refitting.now)
    envelope = {"schema": 1, "seq": 9, "at": "2031-03-04T08:00:00Z", "mono": 1.0}
    record = ev.Record.from_line(json.loads(line) | envelope)
    state = fold(refitting.state, record.event, refitting.now)
    assert (state.counted, state.stage) == (counted, stage)
