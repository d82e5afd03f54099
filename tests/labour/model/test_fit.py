"""What is foretold: the book at first, narrower as jobs come in, the same whenever it is asked."""

import json
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
import scoringrules
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import LabourError
from companion.labour.answers.left import time_left
from companion.labour.model.fit import prior
from companion.labour.model.fitted import Fitted
from companion.labour.model.kept import keep, load
from companion.labour.model.prediction import Basis, Prediction
from companion.labour.table.task import Task, labour_of
from companion.procedure.read import read_procedure
from tests.shops.fitting import fit_after, fit_of
from tests.shops.logs import tasks_of
from tests.shops.shop import Shop

MINUTE = timedelta(minutes=1)
PROCEDURES = Path(__file__).parents[3] / "procedures"


def width(prediction: Prediction) -> float:
    low, high = prediction.interval(0.8)
    return high / low


def test_with_no_data_it_is_the_book_time_with_a_wide_range() -> None:
    task = Task("fit", "w", 10 * MINUTE)
    book = prior().step(task)
    assert book.typical < 10 * MINUTE < book.mean, "one time: now and then it is much longer"
    low, high = book.interval(0.8)
    assert low < 6 * MINUTE
    assert high > 16 * MINUTE
    assert str(book.basis) == "book time only"


@pytest.mark.parametrize("path", sorted(PROCEDURES.glob("*.yaml")), ids=lambda p: p.stem)
def test_with_no_data_a_whole_job_is_as_likely_over_as_under_the_book(path: Path) -> None:
    tasks = labour_of(read_procedure(path), frozenset())
    book = sum((t.book for t in tasks), timedelta())
    total = prior().total(tasks)
    assert total.quantile(0.5) == pytest.approx(book, rel=0.02)
    assert total.quantile(0.1) < 0.6 * book
    assert total.quantile(0.9) > 1.7 * book
    assert sum((prior().step(t).mean for t in tasks), timedelta()) == pytest.approx(total.mean, rel=0.005)


def test_a_fit_to_nothing_is_the_book() -> None:
    shop = Shop.of(1)
    nothing = fit_of(shop, shop.work(0).observations(shop.book_s, 3))
    assert nothing.jobs == 0
    for task in tasks_of(shop):
        assert nothing.step(task, "Aske").values == pytest.approx(prior().step(task).values)


def test_ranges_narrow_as_jobs_come_in() -> None:
    widths = []
    for jobs in (0, 1, 3, 10, 30):
        some = []
        for seed in range(8):
            shop = Shop.of(seed, steps=10)
            fitted = fit_after(shop, jobs) if jobs else prior()
            some += [width(fitted.step(t)) for t in tasks_of(shop)]
        widths.append(float(np.mean(some)))
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > 1.5 * widths[-1]


def test_sums_keep_what_steps_share() -> None:
    """A rusty car slows every step: the spread of the sum is more than that of independent steps."""
    shop = Shop.of(3, steps=20)
    fitted, tasks = fit_after(shop, 30), tasks_of(shop)
    draws = fitted.draw(tasks, "Aske")
    total = fitted.total(tasks, "Aske")
    assert total.values.std() > 1.2 * np.sqrt(draws.var(0).sum())
    means = sum((fitted.step(t, "Aske").mean for t in tasks), timedelta())
    assert total.mean == pytest.approx(means, rel=0.01)
    assert sum((fitted.step(t, "Aske").typical for t in tasks), timedelta()) < 0.97 * total.mean


def test_each_number_says_where_it_comes_from() -> None:
    assert str(Basis(7, 3)) == "seven jobs, three mechanics"
    assert str(Basis(1, 1, unfinished=1)) == "one job, one mechanic, one time unfinished"
    assert str(Basis(34, 2, untimed=3)) == "34 jobs, two mechanics, three steps from the book"
    shop = Shop.of(2, steps=5)
    fitted = fit_after(shop, 4)
    known, new = tasks_of(shop)[0], Task("new-step", "w", MINUTE)
    assert str(fitted.step(known).basis) == "four jobs, three mechanics"
    assert str(fitted.step(new).basis) == "book time only"
    assert width(fitted.step(new)) > width(fitted.step(known))


def test_a_fit_survives_being_kept(tmp_path: Path) -> None:
    shop = Shop.of(4, steps=6)
    fitted = fit_after(shop, 5)
    keep(fitted, tmp_path / "deep" / "fit.json")
    again = load(tmp_path / "deep" / "fit.json")
    for task in tasks_of(shop):
        assert again.step(task, "Brunla").quantile(0.8) == pytest.approx(
            fitted.step(task, "Brunla").quantile(0.8), rel=1e-3
        )
    assert again.steps == fitted.steps


@pytest.mark.parametrize("text", ["", "{", "[]", '{"schema": 9}', json.dumps({"schema": 1, "title": "x"})])
def test_what_is_not_a_fit_is_named(tmp_path: Path, text: str) -> None:
    (tmp_path / "fit.json").write_text(text)
    with pytest.raises(LabourError, match=r"fit\.json: is not a fit"):
        load(tmp_path / "fit.json")
    with pytest.raises(LabourError, match="cannot be read"):
        load(tmp_path / "none.json")


def test_the_mixture_scores_as_scoringrules_scores_its_parts() -> None:
    """CRPS of the equally likely values against the closed form for a log-normal."""
    fitted = prior()
    one = Fitted(**{**fitted.__dict__, **{
        name: np.zeros_like(getattr(fitted, name)) for name in ("base", "person")
    }, "sigma": np.full(64, 0.6), "new_step": np.full(64, 0.0), "common": np.full((64, 2), 0.64 - 0.01),
        "job": np.full(64, 0.1)})  # fmt: skip
    values = one.step(Task("x", "w", timedelta(seconds=1))).values
    exact = scoringrules.crps_lognormal(1.0, 0.0, 1.0)
    assert exact == pytest.approx(0.267405, abs=1e-5)  # log-normal(0, 1) at 1, computed in closed form
    assert scoringrules.crps_ensemble(1.0, values) == pytest.approx(exact, rel=0.02)


@settings(max_examples=30)
@given(st.integers(0, 500), st.floats(0.02, 0.97), st.floats(0.001, 0.02), st.floats(0, 3))
def test_surer_is_never_shorter(seed: int, p: float, more: float, elapsed: float) -> None:
    shop = Shop.of(seed % 5, steps=4)
    fitted, tasks = prior(), tasks_of(shop)
    for found in (
        fitted.step(tasks[0]),
        fitted.total(tasks),
        time_left(fitted, {}, (tasks[0], elapsed * tasks[0].book.total_seconds()), tasks[1:], seed=seed),
    ):
        assert found.quantile(p) <= found.quantile(p + more)
        assert found.values[0] >= 0
        assert 0 <= found.at_most(found.quantile(p)) <= 1


def test_anyone_of_a_shop_with_one_mechanic_is_that_mechanic() -> None:
    shop = Shop.of(5, mechanics=1)
    fitted, tasks = fit_after(shop, 12), tasks_of(shop)
    anyone, aske, stranger = (fitted.total(tasks, who) for who in ("", "Aske", "somebody new"))
    for p in (0.1, 0.5, 0.8):
        assert anyone.quantile(p) == pytest.approx(aske.quantile(p), rel=0.01)
    assert width(stranger) > 1.05 * width(anyone)


def test_anyone_is_weighted_by_who_works_there() -> None:
    shop = Shop.of(6, mechanics=2)
    shop.person[:] = np.log([0.7, 1.4])
    seen = shop.work(40).observations(shop.book_s, 2)
    for mostly in (0, 1):
        some = np.r_[np.flatnonzero(seen.mechanic == mostly), np.flatnonzero(seen.mechanic != mostly)[:2]]
        fitted, tasks = fit_of(shop, seen.rows(some)), tasks_of(shop)
        anyone, usual, rare = (
            fitted.total(tasks, who).quantile(0.5)
            for who in ("", *np.take(["Aske", "Brunla"], [mostly, 1 - mostly]))
        )
        assert abs(anyone - usual) < 0.35 * abs(rare - usual)
