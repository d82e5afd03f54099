"""Extra work while it is off: what it adds, and what it would take on its own."""

from decimal import Decimal

import pytest

from companion.labour.answers.extra import while_it_is_off
from companion.labour.table.task import Task
from tests.labour.answers.forty_jobs import FITTED, TASKS


def test_shared_steps_are_paid_once() -> None:
    job, alone = TASKS[:6], (*TASKS[:4], TASKS[7])
    extra = while_it_is_off(FITTED, job, alone, rate=Decimal(90), parts=Decimal(25))
    assert extra.shared == tuple(t.step for t in TASKS[:4])
    assert extra.now.mean == pytest.approx(FITTED.step(TASKS[7]).mean, rel=0.02)
    assert extra.now.mean + extra.saved.mean == pytest.approx(extra.later.mean, rel=1e-6)
    assert extra.added_cost is not None
    assert extra.later_cost is not None
    hours = Decimal(f"{extra.now.mean.total_seconds() / 3600:.4f}")
    assert extra.added_cost == (hours * 90 + 25).quantize(Decimal("0.01"))
    assert extra.later_cost > extra.added_cost
    assert while_it_is_off(FITTED, job, alone).added_cost is None


def test_a_step_of_the_same_name_with_other_work_is_not_shared() -> None:
    other = Task(TASKS[0].step, "other-work", TASKS[0].book)
    assert while_it_is_off(FITTED, TASKS[:3], (other, TASKS[1])).shared == (TASKS[1].step,)
