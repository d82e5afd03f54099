"""Active times from logs: what counts as work on a step, and what does not."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from companion.labour.table.collect import collect
from companion.labour.table.columns import COLUMNS, PER_JOB_COLUMNS
from companion.labour.table.stopwatch import Stopwatch
from tests.labour.table.asking import attempts, in_jobs

Write = Callable[..., Any]


def test_a_plain_job(write_log: Write, tmp_path: Path) -> None:
    log = write_log(vehicle="grey van").begin("drain", act="drain", book_s=300).after(200).done("drain")
    log.begin("fit").after(50).add("heard", command="done").done("fit").add("job_closed").add("session_ended")
    first, second = attempts(tmp_path)
    assert list(first) == list(COLUMNS)
    assert (first["step"], first["active_s"], first["book_s"], first["outcome"]) == (
        "drain",
        200,
        300,
        "done",
    )
    assert (first["vehicle"], first["mechanic"], first["job"], first["job_number"]) == (
        "grey van",
        "Aske",
        "job-1",
        1,
    )
    assert (second["active_s"], second["censored"], second["interrupted_s"]) == (50, False, 0)
    assert list(in_jobs(tmp_path)[0]) == list(PER_JOB_COLUMNS)


def test_holds_and_stops_are_taken_out(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("fit").after(10).add("job_held", because="phone call").after(100)
    log.add("job_carried_on").after(5).add("work_stopped").after(30).add("job_carried_on").after(2).done(
        "fit"
    )
    (row,) = attempts(tmp_path)
    assert (row["active_s"], row["interrupted_s"]) == (17, 130)
    assert (row["interrupted_by"], row["interrupted_for_s"]) == (["phone call", "work stopped"], [100, 30])
    assert not row["censored"]


def test_a_week_away_is_not_work(write_log: Write, tmp_path: Path) -> None:
    week = 7 * 86400.0
    log = write_log().begin("fit").after(40).add("session_ended").reboot(week)
    log.add("session_started", boot="two", away_s=week).after(20).done("fit")
    (row,) = attempts(tmp_path)
    assert (row["active_s"], row["interrupted_s"], row["interrupted_by"]) == (60, week, ["away"])
    assert not row["gap"]


def test_a_hold_over_night_is_one_interruption(write_log: Write, tmp_path: Path) -> None:
    log = (
        write_log().begin("fit").after(40).add("job_held", because="home time").after(9).add("session_ended")
    )
    log.reboot(1000).add("session_started", boot="two", away_s=1000).after(6).add("job_carried_on").after(1)
    log.done("fit")
    (row,) = attempts(tmp_path)
    assert (row["active_s"], row["interrupted_by"], row["interrupted_for_s"]) == (41, ["home time"], [1015])


def test_after_a_crash_the_time_is_at_least_what_was_seen(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("fit").after(40).add("heard", command="repeat").reboot(300)
    log.add("session_started", boot="two", away_s=300).after(20).done("fit")
    (row,) = attempts(tmp_path)
    assert (row["active_s"], row["interrupted_s"], row["gap"], row["censored"]) == (60, 300, True, True)
    assert in_jobs(tmp_path)[0]["censored"]


def test_a_step_read_again_goes_on_with_the_same_attempt(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("fit").after(10).begin("other").after(5).done("other")
    log.begin("fit").after(3).done("fit")
    rows = {r["step"]: r for r in attempts(tmp_path)}
    assert (rows["fit"]["active_s"], rows["fit"]["attempt"]) == (13, 1)
    assert rows["other"]["active_s"] == 5


def test_looking_back_does_not_move_the_work(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("one").after(9).done("one").begin("two").after(4)
    log.add("looked_back", step="one").after(6).done("two")
    assert [r["active_s"] for r in attempts(tmp_path)] == [9, 10]


def test_what_is_settled_beside_the_current_step_does_not_end_it(write_log: Write, tmp_path: Path) -> None:
    write_log().begin("fit").after(9).add("step_not_needed", step="other").after(4).done("fit")
    assert [(r["step"], r["active_s"]) for r in attempts(tmp_path)] == [("fit", 13)]


def test_an_undone_step_costs_what_all_its_attempts_cost(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("fit").after(50).done("fit").begin("next").after(7).add("step_undone", step="fit")
    log.begin("fit").after(30).done("fit").begin("next").after(5).done("next")
    rows = [(r["step"], r["attempt"], r["active_s"], r["outcome"]) for r in attempts(tmp_path)]
    assert rows == [("fit", 1, 50, "undone"), ("next", 1, 12, "done"), ("fit", 2, 30, "done")]
    fit, following = in_jobs(tmp_path)
    assert (fit["active_s"], fit["attempts"], fit["censored"]) == (80, 2, False)
    assert (following["active_s"], following["censored"]) == (12, False)


def test_skipped_and_unfinished_steps_are_at_least_that_long(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("a").after(8).add("step_skipped", step="a", reason="no tool")
    log.begin("b").after(3).add("session_ended")
    assert [(r["outcome"], r["censored"], r["active_s"]) for r in attempts(tmp_path)] == [
        ("skipped", True, 8), ("unfinished", True, 3),
    ]  # fmt: skip


def test_waits_and_steps_not_needed_are_not_labour(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("cure", act="wait").after(3600).done("cure")
    log.begin("shield").after(2).add("step_not_needed", step="shield").begin("fit").after(30).done("fit")
    assert [r["labour"] for r in attempts(tmp_path)] == [False, True, True]
    assert [r["step"] for r in in_jobs(tmp_path)] == ["fit"]


def test_time_between_steps_belongs_to_none(write_log: Write, tmp_path: Path) -> None:
    write_log().begin("a").after(8).done("a").after(600).begin("b").after(3).done("b")
    assert [r["active_s"] for r in attempts(tmp_path)] == [8, 3]


def test_notes_are_kept_with_their_step_unless_dropped(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("a").add("note_taken", note=1, step="a", text="thread worn")
    log.add("note_taken", note=2, step="a", text="no, fine").add("note_dropped", note=2).after(5).done("a")
    assert attempts(tmp_path)[0]["notes"] == ["thread worn"]


def test_identity_survives_rewording_and_changes_with_the_work(write_log: Write, tmp_path: Path) -> None:
    write_log("job-1", revision="1").begin("fit", work="w1").after(5).done("fit")
    write_log("job-2", day=1, revision="2").begin("fit", work="w1").after(5).done("fit")
    write_log("job-3", day=2, revision="3").begin("fit", work="w2").after(5).done("fit")
    with collect(tmp_path) as table:
        found = table.query("SELECT work, count(*) AS n FROM steps GROUP BY step, work ORDER BY work")
    assert found == [{"work": "w1", "n": 2}, {"work": "w2", "n": 1}]


def test_the_stopwatch_at_the_car_agrees_with_the_table(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("a").after(10).add("job_held").after(99).add("job_carried_on").after(5).done("a")
    log.begin("b").after(4).add("session_ended").reboot(500).add("session_started", boot="2", away_s=500)
    log.after(6).begin("b").after(1).done("b").add("step_undone", step="a").begin("a").after(2).done("a")
    log.begin("c").after(7).add("heard", command="repeat").reboot(70).add(
        "session_started", boot="3", away_s=70
    )
    log.after(3).done("c")
    watch = Stopwatch()
    for record in log.records:
        watch.see(record)
    assert {r["step"]: r["active_s"] for r in in_jobs(tmp_path)} == pytest.approx(watch.done)
    assert watch.done == pytest.approx({"a": 17, "b": 11, "c": 10})
