"""Two ways of doing the same job."""

from datetime import timedelta

import pytest

from companion.labour.answers.ways import compare
from tests.labour.answers.forty_jobs import FITTED, SHOP, TASKS


def test_the_longer_way_with_the_same_steps_is_surely_longer() -> None:
    """In place, or part off for room: two more steps, all others shared."""
    found = compare(FITTED, TASKS[:6], TASKS[:8])
    assert found.quicker == "first"
    assert found.first_quicker == 1.0
    assert found.saved.mean == pytest.approx(found.second.mean - found.first.mean, rel=1e-6)
    assert found.saved.mean == pytest.approx(
        sum((FITTED.step(t).mean for t in TASKS[6:8]), timedelta()), rel=0.03
    )


def test_which_is_quicker_agrees_with_many_true_jobs() -> None:
    first, second = [0, 1, 2, 3], [0, 1, 4, 5]
    true = SHOP.work(20_000).true_s
    share = float((true[:, first].sum(1) < true[:, second].sum(1)).mean())
    found = compare(FITTED, [TASKS[i] for i in first], [TASKS[i] for i in second])
    assert found.first_quicker == pytest.approx(share, abs=0.10)  # forty jobs tell no more than that
    assert found.sure >= 0.5
    assert (found.quicker == "first") == (share > 0.5)


def test_a_way_compared_with_itself_is_even() -> None:
    found = compare(FITTED, TASKS[:3], TASKS[:3])
    assert (found.first_quicker, found.saved.mean) == (0.5, timedelta())
