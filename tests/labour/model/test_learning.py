"""Learning in the fit: told when the data show it, left out otherwise, used for the next repetition."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from companion.labour.model.kept import from_data, to_data
from companion.labour.model.learning import Learnt, first_times, nth_time
from tests.shops.fitting import fit_after, fit_of
from tests.shops.logs import MECHANICS, tasks_of
from tests.shops.shop import Shop

PEOPLE = MECHANICS[:3]


# Unit factors and totals of the unit model, to four places as tables give them (worked out anew from
# T_n = n^(log2 r); .634 for 90 % at 20 and .583 for 85 % at 10 also in a published table, coursepaper.com,
# solutions to chapter 7S "Learning curves", table 7S.1).
@pytest.mark.parametrize(
    ("rate", "n", "unit", "total"),
    [
        (0.80, 2, 0.8000, 1.8000),
        (0.80, 5, 0.5956, 3.7377),
        (0.80, 10, 0.4765, 6.3154),
        (0.80, 20, 0.3812, 10.4849),
        (0.90, 2, 0.9000, 1.9000),
        (0.90, 5, 0.7830, 4.3392),
        (0.90, 10, 0.7047, 7.9945),
        (0.90, 20, 0.6342, 14.6078),
        (0.85, 10, 0.583, 7.116),
    ],
)
def test_the_unit_model_gives_the_table(rate: float, n: int, unit: float, total: float) -> None:
    places = 4 if rate != 0.85 else 3
    assert round(nth_time(rate, n), places) == unit
    assert round(first_times(rate, n), places) == total


def test_the_rate_is_found_again() -> None:
    rates = []
    for seed in range(12):
        found = fit_after(Shop.of(seed, steps=10, learning=0.85), 40).learnt
        if found is None:
            continue
        assert found.low < found.rate < found.high < 1
        rates.append((found.rate, found.low <= 0.85 <= found.high))
    assert len(rates) >= 11, "where cars differ very much it may stay unseen"
    assert np.median([rate for rate, _ in rates]) == pytest.approx(0.85, abs=0.02)
    assert sum(inside for _, inside in rates) >= 9


def test_no_learning_is_told_where_there_is_none() -> None:
    """About one in forty is expected, so over 60 shops five have a chance of 1.6 % (and six of 0.4 %)."""
    told = [fit_after(Shop.of(1000 + seed, steps=8), 20).learnt is not None for seed in range(60)]
    assert sum(told) <= 5


def test_getting_slower_is_not_learning() -> None:
    assert fit_after(Shop.of(3, steps=10, learning=1.2), 40).learnt is None


def test_the_next_job_is_the_next_repetition() -> None:
    shop = Shop.of(5, steps=10, learning=0.8)
    fitted, tasks = fit_after(shop, 40), tasks_of(shop)
    assert fitted.learnt is not None
    used = [fitted.total(tasks, who).quantile(0.5) for who in PEOPLE]
    new, anyone = fitted.total(tasks, "Dunja").quantile(0.5), fitted.total(tasks).quantile(0.5)
    assert max(used) < 0.7 * new, "after some thirteen jobs an 80 % curve is down to 0.44 of the first"
    assert min(used) < anyone < max(used) * 1.1
    for person, who in enumerate(PEOPLE):
        level = shop.base + shop.step + shop.person[person]
        level = level + np.log(0.8) * np.log2(shop.worked[person] + 1)
        for task, log in zip(tasks, level, strict=True):
            low, high = fitted.step(task, who).interval(0.95)
            assert low < task.book * float(np.exp(log)) < high


def test_learning_counts_by_how_likely_it_is_before_it_is_shown() -> None:
    """The median of the next job, against that of a model that knows of no learning."""

    def pull(rate: float) -> float:
        apart = []
        for seed in range(16):
            shop = Shop.of(500 + seed, steps=10, learning=rate)
            seen = shop.work(10).observations(shop.book_s, 3)
            both = [fit_of(shop, one) for one in (seen, replace(seen, repetition=None))]
            if both[0].learnt is None:
                totals = [one.total(tasks_of(shop), "Aske").quantile(0.5) for one in both]
                apart.append(totals[0] / totals[1])
        return float(np.median(apart))

    assert pull(0.8) < 0.97
    assert 0.97 < pull(1.0) < 1.03


def test_few_jobs_show_nothing() -> None:
    for jobs in (1, 2, 4):
        assert fit_after(Shop.of(2, steps=10, learning=0.6), jobs).learnt is None


def test_it_is_kept_and_told() -> None:
    told = Learnt(0.883, 0.83, 0.931, 12)
    assert str(told) == "getting faster: 88 % unit (Crawford) curve, 83 to 93 %, 12 jobs"
    shop = Shop.of(5, steps=4, learning=0.75)
    fitted = fit_after(shop, 40)
    again = from_data(to_data(fitted))
    assert again.learnt == fitted.learnt is not None
    task = tasks_of(shop)[0]
    assert again.step(task, "Aske").typical == pytest.approx(fitted.step(task, "Aske").typical, rel=1e-3)
    assert again.step(task, "Nobody").typical > again.step(task, "Aske").typical > timedelta()
