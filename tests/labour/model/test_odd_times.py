"""Times far off the rest: found where there are more than chance makes, foretold as often as seen."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy.stats import norm

from companion.labour.answers.left import time_left
from companion.labour.model.fitted import Fitted
from companion.labour.model.kept import from_data, to_data
from companion.labour.model.observations import Observations
from companion.labour.model.odd_times import FAR, Odd, without_odd
from companion.labour.table.task import Task
from tests.shops.fitting import fit_of
from tests.shops.logs import tasks_of
from tests.shops.shop import Shop, Trouble

MINUTE = timedelta(minutes=1)


def seen_of(shop: Shop, jobs: int) -> Observations:
    return shop.work(jobs).observations(shop.book_s, shop.mechanics)


def with_calls(seed: int, jobs: int = 30) -> tuple[Shop, Observations, np.ndarray, Observations]:  # type: ignore[type-arg]
    """A shop, its times, which of them lost 40 minutes in a call that nobody logged, and what was logged."""
    shop = Shop.of(seed, steps=20)
    clean = seen_of(shop, jobs)
    called = np.random.default_rng(seed).random(clean.log_ratio.shape) < 0.02
    true_s = np.exp(clean.log_ratio) * shop.book_s
    logged = np.where(called, np.log((true_s + 2400) / shop.book_s), clean.log_ratio)
    return shop, clean, called, replace(clean, log_ratio=logged)


def test_unlogged_calls_are_found_and_told() -> None:
    found_again, wrongly, lost = 0.0, 0, []
    for seed in range(6):
        shop, _, called, logged = with_calls(seed)
        rest, _, odd = without_odd(logged)
        assert odd is not None
        left_out = np.isnan(rest.log_ratio)
        clear = called & (shop.book_s < 600)[None, :]
        found_again += (left_out & clear).sum() / clear.sum() / 6
        wrongly += int((left_out & ~called).sum())
        assert (odd.times, odd.of) == (left_out.sum(), logged.log_ratio.size)
        assert str(odd).startswith(
            f"{odd.times} of 600 times are far off the rest (the long ones typically by "
        )
        lost += odd.changes[odd.changes[:, 1] > 0, 1].tolist()
    assert found_again > 0.8, "in a step of under ten minutes, forty more stand out"
    assert wrongly <= 6, "of 3,600; by chance alone two"
    assert np.median(lost) == pytest.approx(2400, rel=0.2)


def test_where_times_are_as_the_model_thinks_none_is_odd() -> None:
    assert 2 * norm.sf(FAR) * 600 < 0.3, "expected in a shop of 600 times"
    told = [without_odd(seen_of(Shop.of(2000 + seed), 30))[2] for seed in range(40)]
    assert sum(odd is not None for odd in told) <= 2


def test_a_step_that_varies_more_is_not_odd_for_that() -> None:
    shares = []
    for seed in range(12):
        odd = without_odd(seen_of(Shop.of(seed, trouble=Trouble(uneven=0.5)), 30))[2]
        shares.append(odd.share if odd else 0.0)
    assert np.mean(shares) < 0.006


def test_without_a_book_nothing_is_odd() -> None:
    assert without_odd(replace(with_calls(4)[3], book_s=None))[2] is None


def with_one(shop: Shop, jobs: int, seconds: float) -> tuple[Observations, Observations]:
    """The times of some jobs, and the same with a step of the middle job that took so long."""
    seen = seen_of(shop, jobs)
    changed = seen.log_ratio.copy()
    changed[jobs // 2, 5] = np.log(seconds / shop.book_s[5])
    return seen, replace(seen, log_ratio=changed)


NIGHT, AT_ONCE = 16 * 3600.0, 0.5


@pytest.mark.parametrize("seconds", [NIGHT, AT_ONCE])
@pytest.mark.parametrize(("jobs", "more"), [(1, 1.25), (3, 1.1), (10, 1.05)])
def test_a_single_time_very_far_off_is_told_and_hardly_moves_a_quote(
    jobs: int, more: float, seconds: float
) -> None:
    moved = []
    for seed in range(6):
        shop = Shop.of(300 + seed, steps=20)
        fits = [fit_of(shop, seen) for seen in with_one(shop, jobs, seconds)]
        assert [one.odd is None for one in fits] == [True, False]
        assert fits[1].odd is not None
        assert str(fits[1].odd) == f"1 of {20 * jobs} times is very far off the rest"
        usual, changed = (one.total(tasks_of(shop)).quantile(0.8) for one in fits)
        moved.append(changed / usual)
    assert 1 / more < min(moved)
    assert max(moved) < more


def test_a_single_odd_time_is_not_foretold() -> None:
    shop = Shop.of(301, steps=20)
    odd = fit_of(shop, with_one(shop, 10, NIGHT)[1]).odd
    assert odd is not None
    assert odd.share == 0.0
    assert "counts little" in odd.consequence
    assert (odd.befall(np.full(1000, 60.0), np.random.default_rng(1)) == 60.0).all()


def test_calls_no_longer_widen_every_range() -> None:
    wider, narrowed = [], []
    for seed in range(6):
        shop, clean, _, logged = with_calls(seed)
        tasks = tasks_of(shop)
        fits = [fit_of(shop, s) for s in (clean, logged, replace(logged, book_s=None))]
        widths = []
        for one in fits:
            assert (one.odd is None) == (one is not fits[1])
            ranges = [one.step(t).interval(0.5) for t in tasks]
            widths.append(float(np.mean([np.log(high / low) for low, high in ranges])))
        wider.append(widths[1] / widths[0])
        narrowed.append(widths[1] / widths[2])
    assert np.mean(wider) < 1.1
    assert np.mean(narrowed) < 0.9


def test_a_time_to_come_is_as_often_odd_as_those_seen() -> None:
    odd = Odd(20, 999, np.array([[1.0, 2400.0], [1.0, 1200.0], [0.2, 0.0]]))
    assert odd.share == pytest.approx(0.0205)
    times = odd.befall(np.full((200, 1000), 60.0), np.random.default_rng(1))
    for changed in (2460.0, 1260.0, 12.0):
        assert np.isclose(times, changed).mean() == pytest.approx(0.0205 / 3, rel=0.05)
    assert np.isclose(times, 60.0).mean() == pytest.approx(1 - 0.0205, abs=0.001)


def test_the_mean_of_a_job_keeps_the_time_that_calls_cost() -> None:
    apart = []
    for seed in range(6):
        shop, _, _, logged = with_calls(seed)
        total = fit_of(shop, logged).total(tasks_of(shop)).mean.total_seconds()
        apart.append(total / (np.exp(logged.log_ratio) * shop.book_s).sum(1).mean())
    assert np.mean(apart) == pytest.approx(1, abs=0.05)


def test_it_is_kept() -> None:
    shop, _, _, logged = with_calls(1)
    fitted = fit_of(shop, logged)
    again = from_data(to_data(fitted))
    assert fitted.odd is not None
    assert again.odd is not None
    assert (again.odd.times, again.odd.of) == (fitted.odd.times, fitted.odd.of)
    assert again.odd.changes == pytest.approx(fitted.odd.changes, rel=1e-4)


@pytest.fixture(scope="module")
def called() -> tuple[Fitted, tuple[Task, ...]]:
    shop, _, _, logged = with_calls(2)
    return fit_of(shop, logged), tasks_of(shop)


class TestTimeLeft:
    """During the job."""

    def test_begins_at_the_quoted_time(self, called: tuple[Fitted, tuple[Task, ...]]) -> None:
        fitted, tasks = called
        left, quoted = time_left(fitted, {}, None, tasks, "Aske"), fitted.total(tasks, "Aske")
        for p in (0.5, 0.8, 0.95):
            assert left.quantile(p) == pytest.approx(quoted.quantile(p), rel=0.03)

    def test_one_odd_step_today_does_not_make_the_car_a_slow_one(
        self, called: tuple[Fitted, tuple[Task, ...]]
    ) -> None:
        fitted, tasks = called
        usual = {t: fitted.step(t).typical.total_seconds() for t in tasks[:6]}
        away = {**usual, tasks[3]: usual[tasks[3]] + 3600}
        as_usual, after = (time_left(fitted, done, None, tasks[6:]).quantile(0.5) for done in (usual, away))
        assert as_usual <= after < 1.15 * as_usual

    def test_a_step_that_runs_far_too_long_is_taken_for_an_odd_one(
        self, called: tuple[Fitted, tuple[Task, ...]]
    ) -> None:
        """By Monte Carlo: jobs drawn with their odd times, those kept whose step took longer than so far."""
        fitted, tasks = called
        drawn = fitted.draw(tasks[:1], seed=7)[:, 0]
        for elapsed in (0.0, float(np.quantile(drawn, 0.9)), float(np.quantile(drawn, 0.985))):
            rest = drawn[drawn > elapsed] - elapsed
            found = time_left(fitted, {}, (tasks[0], elapsed), [])
            assert found.quantile(0.5).total_seconds() == pytest.approx(float(np.median(rest)), rel=0.2)
