""" "How long left" in a real job: the core's state and log, logged times, holds that do not count."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm, t

from companion.demo.demo_logs import write_demo
from companion.job.facts.events import Record
from companion.job.facts.folding import fold
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.left import BookTimeLeft, Left
from companion.labour.answers.left import LoggedTimeLeft, time_left
from companion.labour.model.fit import prior
from companion.labour.model.fitted import Fitted
from companion.labour.model.kept import from_data, to_data
from companion.labour.table.task import labour_of
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure
from tests.shops.fitting import fit_after
from tests.shops.logs import tasks_of
from tests.shops.shop import Shop

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


def test_quote_and_time_left_begin_at_the_same_number() -> None:
    shop = Shop.of(9, steps=12)
    for fitted in (prior(), fit_after(shop, 10)):
        total, left = fitted.total(tasks_of(shop)), time_left(fitted, {}, None, tasks_of(shop))
        for p in (0.2, 0.5, 0.8, 0.95):
            assert left.quantile(p) == pytest.approx(total.quantile(p), rel=0.02)


@pytest.mark.parametrize("share_done", [0.0, 0.5, 0.9])
def test_time_left_against_plain_monte_carlo(share_done: float) -> None:
    """A plain simulation of the model by rejection: only the cars that fit what was seen today are kept.

    The spreads are held at one set, so that the simulation needs no weights.
    """
    shop = Shop.of(9, steps=12)
    fitted = fit_after(shop, 10)
    one = Fitted(**{**fitted.__dict__, **{
        name: np.repeat(getattr(fitted, name)[20:21], 64, 0)
        for name in ("sigma", "job", "new_step", "base", "mean", "own", "person", "common")
    }})  # fmt: skip
    tasks = tasks_of(shop)
    k = int(share_done * len(tasks))
    truth = shop.work(1).true_s[0]
    elapsed = 1.2 * truth[k]
    found = time_left(
        one, dict(zip(tasks[:k], truth[:k], strict=True)), (tasks[k], elapsed), tasks[k + 1 :], "Aske"
    )

    rng = np.random.default_rng(77)
    n = 1_000_000
    mean = one.mean[0] + one.person[0, 0]
    own = np.sqrt(one.own[0] + one.sigma[0] ** 2)
    before = one.common[0, 0] + one.job[0] ** 2
    h = rng.normal(0, np.sqrt(before), n)
    log_weight = np.zeros(n)
    for j in range(k):  # importance weights of today's steps, straight from the density of t
        log_weight += t.logpdf((np.log(truth[j] / shop.book_s[j]) - mean[j] - h) / own[j], 4)
    running = shop.book_s[k] * np.exp(mean[k] + h + own[k] * rng.standard_normal(n))
    left = running - elapsed
    for j in range(k + 1, len(tasks)):
        left += shop.book_s[j] * np.exp(mean[j] + h + own[j] * rng.standard_normal(n))
    longer = norm.sf((np.log(elapsed / shop.book_s[k]) - mean[k] - h) / own[k])
    odd = (0.98 * longer + 0.02) / longer  # a step may run on for no reason that the car gives
    weight = np.exp(log_weight - log_weight.max()) * (running > elapsed) * odd
    order = np.argsort(left)
    up_to = np.cumsum(weight[order]) / weight.sum()
    for p in (0.5, 0.8, 0.95):
        plain = float(left[order][np.searchsorted(up_to, p)])
        assert found.quantile(p).total_seconds() == pytest.approx(plain, rel=0.03)


def test_a_slow_car_so_far_means_more_time_left() -> None:
    shop = Shop.of(9, steps=12)
    fitted, tasks = fit_after(shop, 10), tasks_of(shop)
    typical = {t: fitted.step(t).typical.total_seconds() for t in tasks[:6]}
    quick, slow = ({t: s * f for t, s in typical.items()} for f in (0.7, 1.4))
    ends = [time_left(fitted, done, None, tasks[6:]).quantile(0.5) for done in (quick, typical, slow)]
    assert ends[0] < ends[1] < ends[2]


def test_a_step_that_runs_beyond_everything_foreseen_still_gets_an_answer() -> None:
    shop = Shop.of(9, steps=3)
    fitted, tasks = fit_after(shop, 10), tasks_of(shop)
    found = time_left(fitted, {}, (tasks[0], 1e7), tasks[1:])
    assert found.quantile(0.5) > timedelta()
    assert time_left(fitted, {}, None, []).quantile(0.5) == timedelta()


class TestOddSteps:
    """One step far off tells nothing of the car, however few or many were seen."""

    @pytest.mark.parametrize("jobs", [0, 10])
    @pytest.mark.parametrize("before", [0, 2, 8])
    @pytest.mark.parametrize(("times", "most"), [(1 / 300, 1.25), (3.0, 1.65), (10.0, 1.6), (100.0, 1.25)])
    def test_done_at_once_or_far_too_late(self, jobs: int, before: int, times: float, most: float) -> None:
        shop = Shop.of(3, steps=20)
        fitted = fit_after(shop, jobs) if jobs else prior()
        tasks = tasks_of(shop)
        usual = {t: fitted.step(t).typical.total_seconds() for t in tasks[: before + 1]}
        odd = {**usual, tasks[before]: usual[tasks[before]] * times}
        rest = tasks[before + 1 :]
        expected, found = (time_left(fitted, done, None, rest).quantile(0.5) for done in (usual, odd))
        assert expected / most < found < expected * most

    @pytest.mark.parametrize("jobs", [0, 10])
    def test_a_step_that_runs_over_a_night(self, jobs: int) -> None:
        shop = Shop.of(3, steps=20)
        fitted = fit_after(shop, jobs) if jobs else prior()
        first, *rest = tasks_of(shop)
        expected, found = (
            time_left(fitted, {}, running, rest).quantile(0.5) for running in (None, (first, 15 * 3600.0))
        )
        assert found < 2 * expected
