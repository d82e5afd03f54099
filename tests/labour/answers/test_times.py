"""What `companion times` tells, from logs to answer."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from statistics import fmean, pstdev, stdev
from typing import Any

import numpy as np
import pytest

from companion.labour.answers.times import Times, observations_needed, times
from companion.labour.model.fit import fit_title
from companion.labour.model.kept import kept_fit, load
from companion.labour.table.collect import collect
from companion.labour.table.task import Task
from tests.shops.logs import HELD, tasks_of, write_logs
from tests.shops.shop import Shop

Write = Callable[..., Any]


def told(logs: Path, title: str | None = None) -> Times:
    with collect(logs) as table:
        return times(table, title, logs)


def test_times_of_an_invented_shop(tmp_path: Path) -> None:
    shop = Shop.of(8, steps=8)
    truth = np.vstack([t.true_s for t in write_logs(tmp_path, shop, 30, title="Belt change", hold_every=10)])
    answer = told(tmp_path)
    assert [s.step for s in answer.steps] == [t.step for t in tasks_of(shop)]
    for n, step in enumerate(answer.steps):
        assert (step.title, step.jobs, step.mechanics, step.unfinished) == ("Belt change", 30, 3, 0)
        assert step.seen is not None
        assert step.seen.total_seconds() == pytest.approx(np.exp(np.log(truth[:, n]).mean()), rel=1e-4)
        assert step.predicted.typical == pytest.approx(step.seen, rel=0.2)  # drawn towards the book a little
        low, high = step.predicted.interval(0.8)
        assert low < step.seen < high
    off = [abs(s.predicted.typical - s.book) for s in answer.most_different(3)]
    assert off == sorted((abs(s.predicted.typical - s.book) for s in answer.steps), reverse=True)[:3]
    held = answer.most_interrupted(2)
    assert held[0].interrupted >= held[1].interrupted > timedelta()
    reasons = {i.reason for s in answer.steps for i in s.interruptions}
    assert reasons <= set(HELD)
    assert sum(i.times for s in answer.steps for i in s.interruptions) == 24


@pytest.mark.parametrize(
    ("readings", "within", "errors", "needed"),
    [
        # Two standard errors, the population's deviation: (40 sqrt(n' Σx² - (Σx)²) / Σx)² is 8.82. The
        # readings from memory of a textbook, the figure worked out again.
        ((7, 6, 7, 7, 6), 0.05, 2.0, 9),
        # The same at ±10 %: 3.87 (transtutors.com, Work measurement, Sample size determination).
        ((8, 7, 8, 9, 7), 0.10, 2.0, 4),
        # Mean 3.66, s 0.3507, z 1.96: 14.1 (published readings, worked out again).
        ((3.5, 3.2, 4.1, 3.6, 3.9), 0.05, None, 15),
    ],
)
def test_how_often_to_time_something_is_what_textbooks_say(
    readings: tuple[float, ...], within: float, errors: float | None, needed: int
) -> None:
    deviation = pstdev(readings) if errors else stdev(readings)
    given = {} if errors is None else {"errors": errors}
    assert observations_needed(deviation / fmean(readings), within, **given) == needed


def test_how_many_more_jobs_to_log(write_log: Write, tmp_path: Path) -> None:
    for n, seconds in enumerate((210, 192, 246, 216, 234)):  # the last readings above, in seconds
        log = write_log(f"job-{n}", day=n).begin("fit").after(seconds).done("fit")
        log.begin("steady").after(60).done("steady")
    write_log("job-9", day=9).begin("fit").after(1).add("session_ended")
    write_log("job-8", day=8).begin("once").after(70).done("once")
    steps = {s.step: s for s in told(tmp_path).steps}
    assert steps["fit"].more_jobs(0.05) == 10, "fifteen, and five are finished"
    assert steps["fit"].more_jobs(0.10) == 0
    assert steps["steady"].more_jobs(0.05) == 0, "readings without spread need no more"
    assert steps["once"].more_jobs(0.05) is None


def test_the_fit_is_kept_for_the_car(tmp_path: Path) -> None:
    shop = Shop.of(8, steps=4)
    list(write_logs(tmp_path, shop, 6, title="Belt change"))
    answer = told(tmp_path)
    kept = load(kept_fit(tmp_path, "Belt change"))
    task = tasks_of(shop)[0]
    assert kept.step(task).typical == pytest.approx(answer.fits["Belt change"].step(task).typical, rel=1e-3)
    assert str(kept.step(task).basis) == str(answer.steps[0].predicted.basis)


def test_the_slowest_tenth_and_what_was_said_in_it(write_log: Write, tmp_path: Path) -> None:
    for n in range(20):
        log = write_log(f"job-{n:02}", day=n, vehicle=f"car {n}").begin("fit").after(60 + n)
        if n >= 18:
            log.after(500).add("note_taken", note=1, step="fit", text=f"<b>bolt {n} broke</b>")
        log.done("fit")
    (step,) = told(tmp_path).steps
    assert [(c.job, c.active) for c in step.slowest] == [
        ("job-19", timedelta(seconds=579)), ("job-18", timedelta(seconds=578)),
    ]  # fmt: skip
    assert step.slowest[0].notes == ("<b>bolt 19 broke</b>",)
    assert step.slowest[0].vehicle == "car 19"


def test_a_trend_is_told_only_when_there_is_one(write_log: Write, tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    for n in range(30):
        log = write_log(f"job-{n:02}", day=n)
        log.begin("learnt").after(300 * 0.97**n * np.exp(rng.normal(0, 0.05))).done("learnt")
        log.begin("steady").after(100 * np.exp(rng.normal(0, 0.2))).done("steady")
    steps = {s.step: s for s in told(tmp_path).steps}
    assert steps["learnt"].trend == pytest.approx(0.97**10 - 1, abs=0.03)
    assert steps["steady"].trend is None


def test_a_trend_is_over_jobs_of_its_own_procedure(write_log: Write, tmp_path: Path) -> None:
    """Nine jobs of other kinds between two of this one do not make its trend nine times flatter."""
    rng = np.random.default_rng(1)
    for n in range(12):
        log = write_log(f"job-{n:02}", day=10 * n)
        log.begin("learnt").after(300 * 0.9**n * np.exp(rng.normal(0, 0.02))).done("learnt")
        for other in range(1, 10):
            log = write_log(f"other-{n:02}-{other}", day=10 * n + other, title=f"Other {other}")
            log.begin("fit").after(60).done("fit")
    (step,) = told(tmp_path, "Small job").steps
    assert step.trend == pytest.approx(0.9**10 - 1, abs=0.03)


def test_a_shop_without_trends_is_told_of_none(tmp_path: Path) -> None:
    """Of twenty shops with twelve steps each, at most three are told of any; one is expected."""
    wrong = 0
    for seed in range(20):
        folder = tmp_path / str(seed)
        list(write_logs(folder, Shop.of(700 + seed, steps=12, mechanics=1), 15))
        wrong += any(step.trend is not None for step in told(folder).steps)
    assert wrong <= 3


def test_a_rare_step_is_told_where_it_belongs(write_log: Write, tmp_path: Path) -> None:
    """The only job with the optional step is also the one in which most was said before it."""
    for n in range(6):
        log = write_log(f"job-{n}", day=n).begin("open").after(10)
        for note in range(40 if n == 5 else 0):
            log.add("note_taken", note=note, step="open", text="rust")
        log.done("open")
        if n == 5:
            log.begin("clean-strainer").after(10).done("clean-strainer")
        for step in ("renew", "close", "fill"):
            log.begin(step).after(10).done(step)
    assert [s.step for s in told(tmp_path).steps] == ["open", "clean-strainer", "renew", "close", "fill"]


def test_getting_faster_is_told_from_the_logs(tmp_path: Path) -> None:
    """Log names are in the order of the jobs here only by chance: repetitions go by when a job was opened."""
    shop = Shop.of(8, steps=8, learning=0.75)
    list(write_logs(tmp_path, shop, 30, title="Belt change"))
    for log in tmp_path.glob("*.jsonl"):
        number = int(log.stem[-7:])
        name = f"job-{999 - number}"
        (tmp_path / f"{name}.jsonl").write_text(log.read_text().replace(log.stem, name))
        log.unlink()
    fit = told(tmp_path).fits["Belt change"]
    assert fit.learnt is not None
    assert fit.learnt.rate == pytest.approx(0.75, abs=0.06)
    assert fit.learnt.jobs == 30
    assert str(fit.learnt).startswith("getting faster: ")
    assert load(kept_fit(tmp_path, "Belt change")).learnt == fit.learnt


def test_one_procedure_at_a_time(write_log: Write, tmp_path: Path) -> None:
    write_log("job-1", title="One").begin("fit").after(10).done("fit")
    write_log("job-2", title="Two").begin("fit").after(1000).done("fit")
    answer = told(tmp_path, "Two")
    assert [(s.title, s.jobs) for s in answer.steps] == [("Two", 1)]
    assert told(tmp_path, "Three").steps == ()


def test_a_book_put_right_changes_no_history(write_log: Write, tmp_path: Path) -> None:
    """Ten jobs of twenty minutes against a book of ten; then the book is put right."""
    rng = np.random.default_rng(2)

    def work(jobs: range, book_s: float) -> None:
        for n in jobs:
            log = write_log(f"job-{n:02}", day=n)
            for step in ("open", "renew", "close"):
                log.begin(step, book_s=book_s).after(1200 * np.exp(rng.normal(0, 0.05))).done(step)

    work(range(10), 600)
    tasks = [Task(step, "w1", timedelta(minutes=20)) for step in ("open", "renew", "close")]
    with collect(tmp_path) as table:
        wrong = fit_title(table, "Small job").total(tasks).quantile(0.5)
        put_right = fit_title(table, "Small job", tasks).total(tasks).quantile(0.5)
    assert wrong == pytest.approx(timedelta(hours=1), rel=0.05)
    assert put_right == pytest.approx(timedelta(hours=1), rel=0.05)
    work(range(10, 12), 1200)
    for step in told(tmp_path).steps:
        assert step.book == timedelta(minutes=20)
        assert step.predicted.typical == pytest.approx(timedelta(minutes=20), rel=0.08)


def test_a_step_that_never_ended_is_told_as_unfinished(write_log: Write, tmp_path: Path) -> None:
    write_log("job-1").begin("fit", book_s=600).after(1200).add("session_ended")
    (step,) = told(tmp_path).steps
    assert (step.jobs, step.unfinished, step.seen) == (1, 1, None)
    assert step.predicted.typical > timedelta(seconds=800)
    assert step.trend is None
