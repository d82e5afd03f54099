"""Plans from what the shop's logs say."""

from datetime import datetime, timedelta

import pytest

from companion.labour.model.fit import prior
from companion.labour.plan.finish import drawn_times, expected_times, finish_spread
from companion.labour.plan.planner import make_plan, when
from companion.labour.plan.project_of import project_of
from companion.labour.table.hours import Hours
from companion.labour.table.task import labour_of
from companion.procedure.model import Procedure

MONDAY = datetime(2026, 3, 2, 8, 0)
ALWAYS = Hours.parse("Mon-Sun 00:00-24:00")
SERVICE = Procedure.from_data(
    {
        "title": "Service",
        "revision": "1",
        "applies_to": ["Brackfell Ostler (invented)"],
        "source_of_torques": "Invented.",
        "steps": [
            {"id": "drain", "act": "drain", "say": "Drain.", "book": "10 min"},
            {"id": "let-drain", "act": "wait", "say": "Wait.", "book": "15 min", "wait": "15 min"},
            {"id": "look-round", "act": "inspect", "say": "Look.", "book": "20 min", "after": ["drain"]},
            {
                "id": "fill",
                "act": "fill",
                "say": "Fill.",
                "book": "5 min",
                "after": ["let-drain", "look-round"],
            },
        ],
    }
)


def test_expected_times_are_means_of_work_only() -> None:
    told = expected_times(SERVICE, prior())
    assert list(told) == ["drain", "look-round", "fill"], "a wait is not work"
    task = labour_of(SERVICE)[0]
    assert told["drain"] == task.book, "with nothing logged it is the book's time"


def test_the_finish_is_told_as_a_spread() -> None:
    plan = make_plan(project_of(SERVICE, expected_times(SERVICE, prior())), MONDAY, ALWAYS)
    spread = finish_spread(plan, drawn_times(SERVICE, prior()))
    assert spread is not None
    assert MONDAY < spread.half < spread.careful < spread.unlucky
    assert spread.broken == 0
    # Against the definition, job by job: the drain, the longer of wait and look, the fill.
    ends = sorted(
        (MONDAY + timedelta(seconds=sum(-(-s // 1) for s in (d, max(900, look), f))))
        for d, look, f in (
            [job[id_].total_seconds() for id_ in ("drain", "look-round", "fill")]
            for job in drawn_times(SERVICE, prior())
        )
    )
    assert spread.half == ends[99]
    assert spread.careful == ends[159]
    assert str(spread) == f"half of such jobs end by {when(ends[99])}, four in five by {when(ends[159])}"


def test_a_plan_that_no_possible_job_can_keep_has_no_spread() -> None:
    plan = make_plan(project_of(SERVICE), MONDAY, ALWAYS)
    endless = {"drain": timedelta(days=400)}
    assert finish_spread(plan, iter([endless])) is None
    half = finish_spread(plan, iter([endless, {}]))
    assert half is not None
    assert half.broken == pytest.approx(0.5)
