""" "How long left" in a real job: the core's state and log, logged times, holds that do not count."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from companion.demo.demo_logs import write_demo
from companion.job.facts.events import Record
from companion.job.facts.folding import fold
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.left import BookTimeLeft, Left
from companion.labour.answers.left import LoggedTimeLeft
from companion.labour.model.fit import prior
from companion.labour.model.fitted import Fitted
from companion.labour.model.kept import from_data, to_data
from companion.labour.table.task import labour_of
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure

PROCEDURE = Path(__file__).parents[3] / "procedures" / "coolant-pump.yaml"


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    return read_procedure(PROCEDURE)


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> list[Record]:
    folder = tmp_path_factory.mktemp("demo")
    names = write_demo(PROCEDURE.parent, folder, jobs=2)  # the first, on the first procedure, is a whole job
    lines = (folder / f"{names[0]}.jsonl").read_text(encoding="utf-8").splitlines()
    return [Record.from_line(json.loads(line)) for line in lines]


def answers(procedure: Procedure, records: list[Record], fitted: Fitted) -> list[tuple[Record, State, Left]]:
    left, state, told = LoggedTimeLeft(fitted, "Aske"), State(procedure), []
    for record in records:
        now = Instant(record.at, record.mono)
        state = fold(state, record.event, now)
        left.see(record)
        if record.event.event in ("step_begun", "step_done", "job_held", "job_carried_on"):
            told.append((record, state, left.left(state, now)))
    return told


def test_it_falls_from_the_whole_job_to_nothing(procedure: Procedure, records: list[Record]) -> None:
    told = [left for _, _, left in answers(procedure, records, prior())]
    whole = sum((t.book for t in labour_of(procedure, frozenset())), timedelta())
    assert told[0].likely == pytest.approx(whole, rel=0.25)
    assert told[0].because == "book time only"
    assert told[-1].likely == timedelta()
    assert all(a.careful is not None and a.careful >= a.likely for a in told)
    assert told[len(told) // 2].likely < told[0].likely


def test_a_narrow_belief_in_the_book_gives_the_book(procedure: Procedure, records: list[Record]) -> None:
    """With spreads near nothing the answer is the book's."""
    data = to_data(prior())
    for name, value in (("sigma", 0.01), ("job", 0.001), ("new_step", 0.001)):
        data[name] = [[value]] * len(data[name])
    data["common"] = [[1e-6, 1e-6]] * len(data["common"])
    data["base"] = [[0.0]] * len(data["base"])
    sure = from_data(data)
    record, state, left = answers(procedure, records, sure)[0]
    book = BookTimeLeft().left(state, Instant(record.at, record.mono)).likely
    assert left.likely == pytest.approx(book, rel=0.02)


def test_by_the_book_waits_and_steps_not_wanted_are_no_work(procedure: Procedure) -> None:
    whole = sum((t.book for t in labour_of(procedure, frozenset())), timedelta())
    wanted = next(s.id for s in procedure.steps if s.optional)
    state, now = State(procedure), Instant(datetime(2031, 3, 4, tzinfo=UTC), timedelta())
    assert BookTimeLeft().left(state, now).likely == whole
    state = replace(state, wanted=frozenset({wanted}))
    more = sum((t.book for t in labour_of(procedure, frozenset({wanted}))), timedelta())
    assert BookTimeLeft().left(state, now).likely == more > whole


def test_a_hold_does_not_use_up_the_step(procedure: Procedure, records: list[Record]) -> None:
    begun = next(r for r in records if r.event.event == "step_begun")
    upto = records[: begun.seq]
    left, state = LoggedTimeLeft(prior()), State(procedure)
    for record in upto:
        state = fold(state, record.event, Instant(record.at, record.mono))
        left.see(record)
    hour = timedelta(hours=1)
    later = Instant(begun.at + hour, begun.mono + hour)
    worked_on = left.watch.elapsed(later)
    held = Record.from_line({
        "schema": 1, "seq": begun.seq + 1, "at": begun.at.isoformat(), "mono": begun.mono.total_seconds(),
        "event": "job_held",
    })  # fmt: skip
    left.see(held)
    assert (worked_on, left.watch.elapsed(later)) == (3600.0, 0.0)
