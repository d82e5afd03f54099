"""Which way, what else while it is off, and whether to send out."""

from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest

from companion.errors import LabourError
from companion.labour.answers.away import send_out
from companion.labour.answers.extra import while_it_is_off
from companion.labour.answers.ways import compare
from companion.labour.model.fitted import Fitted
from companion.labour.table.task import Task
from tests.shops.fitting import fit_of
from tests.shops.logs import tasks_of
from tests.shops.shop import Shop

SHOP = Shop(21, np.full(10, 600.0), spreads=np.array([0.3, 0.3, 0.1, 0.3]))
TASKS = tasks_of(SHOP)
PAST = SHOP.work(40)


@pytest.fixture(scope="module")
def fitted() -> Fitted:
    return fit_of(SHOP, PAST.observations(SHOP.book_s, 3))


def test_the_longer_way_with_the_same_steps_is_surely_longer(fitted: Fitted) -> None:
    """In place, or part off for room: two more steps, all others shared."""
    found = compare(fitted, TASKS[:6], TASKS[:8])
    assert found.quicker == "first"
    assert found.first_quicker == 1.0
    assert found.saved.mean == pytest.approx(found.second.mean - found.first.mean, rel=1e-6)
    assert found.saved.mean == pytest.approx(
        sum((fitted.step(t).mean for t in TASKS[6:8]), timedelta()), rel=0.03
    )


def test_which_is_quicker_agrees_with_many_true_jobs(fitted: Fitted) -> None:
    first, second = [0, 1, 2, 3], [0, 1, 4, 5]
    true = SHOP.work(20_000).true_s
    share = float((true[:, first].sum(1) < true[:, second].sum(1)).mean())
    found = compare(fitted, [TASKS[i] for i in first], [TASKS[i] for i in second])
    assert found.first_quicker == pytest.approx(share, abs=0.10)  # forty jobs tell no more than that
    assert found.sure >= 0.5
    assert (found.quicker == "first") == (share > 0.5)


def test_a_way_compared_with_itself_is_even(fitted: Fitted) -> None:
    found = compare(fitted, TASKS[:3], TASKS[:3])
    assert (found.first_quicker, found.saved.mean) == (0.5, timedelta())


def test_shared_steps_are_paid_once(fitted: Fitted) -> None:
    job, alone = TASKS[:6], (*TASKS[:4], TASKS[7])
    extra = while_it_is_off(fitted, job, alone, rate=Decimal(90), parts=Decimal(25))
    assert extra.shared == tuple(t.step for t in TASKS[:4])
    assert extra.now.mean == pytest.approx(fitted.step(TASKS[7]).mean, rel=0.02)
    assert extra.now.mean + extra.saved.mean == pytest.approx(extra.later.mean, rel=1e-6)
    assert extra.added_cost is not None
    assert extra.later_cost is not None
    hours = Decimal(f"{extra.now.mean.total_seconds() / 3600:.4f}")
    assert extra.added_cost == (hours * 90 + 25).quantize(Decimal("0.01"))
    assert extra.later_cost > extra.added_cost
    assert while_it_is_off(fitted, job, alone).added_cost is None


def test_a_step_of_the_same_name_with_other_work_is_not_shared(fitted: Fitted) -> None:
    other = Task(TASKS[0].step, "other-work", TASKS[0].book)
    assert while_it_is_off(fitted, TASKS[:3], (other, TASKS[1])).shared == (TASKS[1].step,)


def test_what_a_weeks_wait_buys(fitted: Fitted) -> None:
    found = send_out(
        fitted, TASKS[:4], TASKS[4:6], lead=timedelta(days=7), price=Decimal(40), rate=Decimal(90)
    )
    assert found.bought == found.here.mean
    assert found.saved == found.here_cost - 40
    assert found.idle == timedelta(days=7) - fitted.total(TASKS[4:6]).mean
    assert str(found).startswith("Waiting 7 days buys 0.")
    with pytest.raises(LabourError, match="negative"):
        send_out(fitted, TASKS[:1], (), lead=timedelta(days=-1), price=Decimal(1), rate=Decimal(1))
    with pytest.raises(LabourError, match="no work"):
        send_out(fitted, (), (), lead=timedelta(days=1), price=Decimal(1), rate=Decimal(1))
