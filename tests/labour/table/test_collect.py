"""Active times from logs: what counts, what does not, and how the table is kept."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from companion.demo.shop import Shop
from companion.demo.shop_logs import tasks_of, write_logs
from companion.errors import LabourError
from companion.labour.table.collect import CACHE, collect, told
from companion.labour.table.columns import COLUMNS, PER_JOB_COLUMNS
from companion.labour.table.questions import per_job
from companion.labour.table.read_logs import Fault
from companion.labour.table.stopwatch import Stopwatch

Write = Callable[..., Any]


def attempts(logs: Path) -> list[dict[str, Any]]:
    with collect(logs) as table:
        return table.query("SELECT * FROM steps ORDER BY job_number, began_at")


def faults(logs: Path) -> list[Fault]:
    with collect(logs) as table:
        return list(table.faults)


def in_jobs(logs: Path) -> list[dict[str, Any]]:
    with collect(logs) as table:
        return sorted(table.ask(per_job()), key=lambda r: (r["job_number"], r["step"]))


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
    log = (
        write_log()
        .begin("fit")
        .after(10)
        .begin("other")
        .after(5)
        .done("other")
        .begin("fit")
        .after(3)
        .done("fit")
    )
    assert log
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


@pytest.fixture
def read_now(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The logs that are read, as they are."""
    import companion.labour.table.batch as module

    names: list[str] = []
    read = module.read

    def spy(logs: Path, batch: Any, faults: Any) -> Any:
        names.extend(name for _, name in batch)
        return read(logs, batch, faults)

    monkeypatch.setattr(module, "read", spy)
    return names


def test_only_changed_logs_are_read_again(write_log: Write, tmp_path: Path, read_now: list[str]) -> None:
    one = write_log("job-1").begin("fit").after(5).done("fit")
    write_log("job-2", day=1).begin("fit").after(7).done("fit")
    assert len(attempts(tmp_path)) == 2
    assert len(attempts(tmp_path)) == 2
    one.begin("more").after(9).done("more")
    assert [r["active_s"] for r in attempts(tmp_path)] == [5, 9, 7]
    (tmp_path / "job-2.jsonl").unlink()
    assert [r["job_number"] for r in attempts(tmp_path)] == [1, 1]
    assert read_now == ["job-1.jsonl", "job-2.jsonl", "job-1.jsonl"]


def test_a_log_changed_behind_its_size_and_time_is_read_again(write_log: Write, tmp_path: Path) -> None:
    path = write_log().begin("fit").after(5).done("fit").path
    assert attempts(tmp_path)[0]["step"] == "fit"
    before = path.stat()
    path.write_text(path.read_text().replace('"fit"', '"saw"'))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert attempts(tmp_path)[0]["step"] == "saw"


def test_built_bit_by_bit_or_at_once_the_table_is_the_same(tmp_path: Path) -> None:
    shop = Shop.of(11, steps=6)
    for _ in write_logs(tmp_path, shop, 8, hold_every=4):
        with collect(tmp_path) as table:
            bit_by_bit = table.query("SELECT * FROM steps ORDER BY ALL")
    for file in (tmp_path / CACHE).iterdir():
        file.unlink()
    with collect(tmp_path) as table:
        assert table.query("SELECT * FROM steps ORDER BY ALL") == bit_by_bit


def test_the_table_gives_back_the_true_times_of_an_invented_shop(tmp_path: Path) -> None:
    shop = Shop.of(5, steps=12)
    truth = np.vstack([t.true_s for t in write_logs(tmp_path, shop, 20, hold_every=7, batch=9)])
    columns = {t.step: n for n, t in enumerate(tasks_of(shop))}
    found = np.full(truth.shape, np.nan)
    for row in in_jobs(tmp_path):
        found[row["job_number"] - 1, columns[row["step"]]] = row["active_s"]
    assert np.abs(found - truth).max() < 0.01  # the log keeps milliseconds


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


def test_a_torn_last_line_is_left_out_and_told(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("a").after(10).done("a").begin("b")
    with log.path.open("a") as file:
        file.write('{"schema": 1, "seq": 7, "at": "2031-03-03T08:10:00Z", "mono": 5600, "event": "step_do')
    for _ in ("read", "known from before"):
        assert [(r["step"], r["outcome"]) for r in attempts(tmp_path)] == [("a", "done"), ("b", "unfinished")]
        (fault,) = faults(tmp_path)
        assert fault.torn
        assert str(fault) == "job-1.jsonl: its last line (6) is torn and was left out"


def test_a_last_line_that_a_power_cut_filled_with_zeros_is_torn(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("a").after(10).done("a")
    with log.path.open("ab") as file:
        file.write(bytes(40) + b"\n")
    assert [r["active_s"] for r in attempts(tmp_path)] == [10]
    assert [f.torn for f in faults(tmp_path)] == [True]


def test_an_empty_folder_has_an_empty_table(tmp_path: Path) -> None:
    assert attempts(tmp_path) == []
    assert in_jobs(tmp_path) == []


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(LabourError, match="no such folder"):
        collect(tmp_path / "nowhere")


OPENED = (
    '{"schema": 1, "seq": 1, "at": "2031-03-03T08:00:00Z", "mono": 1, "event": "job_opened", "job": "x"}\n'
)
HELD = '{"schema": 1, "seq": 2, "at": "2031-03-03T08:00:00Z", "mono": 2, "event": "job_held"}\n'
UNREADABLE = [
    (HELD.replace("2,", "1,").encode(), "does not begin with job_opened"),
    (OPENED.replace("2031-03-03T08:00:00Z", "yesterday").encode(), "line 1 is without number or times"),
    (OPENED.replace('"schema": 1', '"schema": 2').encode(), "is of schema 2, and this companion reads 1"),
    (b"", "no event was logged"),
    (b"\n\n", "no event was logged"),
    (b"\x89PNG\x00\xff", "holds no whole line"),
    (b"\x7fELF\x00\xff\xfe\n\x80", "line 1 is not text"),
    (OPENED.encode() + b"\xc3\x28\n", "line 2 is not text"),
    (b"\x00\x01\x02\n", "line 1 is not JSON"),
    (OPENED.encode() + b"not JSON\n" + HELD.encode(), "line 2 is not JSON"),
    (OPENED.encode() + b"not JSON\n{", "line 2 is not JSON"),
    (OPENED.encode() + b"\n" + HELD.encode(), "line 2 is not JSON"),
    (OPENED.encode() + b"[]\n" + HELD.encode(), "line 2 is without number or times"),
    ((OPENED + HELD + HELD).encode(), "line 3 has event 2"),
    ((OPENED + OPENED.replace('"seq": 1', '"seq": 2')).encode(), "line 2 has a second job_opened"),
]


@pytest.mark.parametrize(("content", "why"), UNREADABLE)
def test_a_log_that_cannot_be_read_is_left_out_and_told(
    write_log: Write, tmp_path: Path, content: bytes, why: str
) -> None:
    write_log("good").begin("a").after(10).done("a")
    write_log("odd").begin("a").after(10).done("a")
    (tmp_path / "odd.jsonl").write_bytes(content)
    for _ in ("first", "again"):
        assert [r["log"] for r in attempts(tmp_path)] == ["good.jsonl"]
        (fault,) = faults(tmp_path)
        assert str(fault) == f"odd.jsonl: {why}"
        assert not fault.torn
    (tmp_path / "good.jsonl").unlink()
    with pytest.raises(LabourError, match=r"one log is left out: odd\.jsonl: ") as caught:
        collect(tmp_path)
    assert "\n" not in str(caught.value)


def test_what_is_wrong_is_found_in_each_of_many(write_log: Write, tmp_path: Path) -> None:
    for n, (content, _) in enumerate(UNREADABLE):
        (tmp_path / f"odd-{n:02}.jsonl").write_bytes(content)
        write_log(f"good-{n:02}", day=n).begin("a").after(10 + n).done("a")
    assert [r["active_s"] for r in attempts(tmp_path)] == [10 + n for n in range(len(UNREADABLE))]
    assert [f.why for f in faults(tmp_path)] == [why for _, why in UNREADABLE]
    with collect(tmp_path) as table:
        assert told(table.faults).startswith("15 logs are left out: odd-00.jsonl: does not begin")
        assert told(table.faults).endswith("; and 10 more; 'companion jobs' shows them")


def test_what_is_torn_is_told_apart_from_what_is_left_out() -> None:
    both = [Fault("a.jsonl", "line 2 is not JSON"), Fault("b.jsonl", "its last line (9) is torn", torn=True)]
    assert told(both) == (
        "one log is left out: a.jsonl: line 2 is not JSON; "
        "one log is torn: b.jsonl: its last line (9) is torn; "
        "'companion jobs' shows them"
    )


def test_a_log_that_became_readable_is_noticed(write_log: Write, tmp_path: Path, read_now: list[str]) -> None:
    write_log("good").begin("a").after(10).done("a")
    (tmp_path / "late.jsonl").symlink_to(tmp_path / "elsewhere" / "late.jsonl")
    assert len(attempts(tmp_path)) == 1
    assert [f.why for f in faults(tmp_path)] == ["cannot be read (No such file or directory)"]
    read_now.clear()
    (tmp_path / "elsewhere").mkdir()
    log = write_log("late", day=1).begin("a").after(20).done("a").path  # written through the link
    assert log.is_symlink()
    assert [r["active_s"] for r in attempts(tmp_path)] == [10, 20]
    assert faults(tmp_path) == []
    assert read_now == ["late.jsonl"]


def test_a_log_that_is_no_longer_readable_goes_and_comes_back(write_log: Write, tmp_path: Path) -> None:
    write_log("one").begin("a").after(10).done("a")
    path = write_log("two", day=1).begin("a").after(20).done("a").path
    assert len(attempts(tmp_path)) == 2
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"step_begun", b"step_\xffegun"))
    assert [r["active_s"] for r in attempts(tmp_path)] == [10]
    path.write_bytes(whole)
    assert [r["active_s"] for r in attempts(tmp_path)] == [10, 20]


def test_a_copy_of_a_log_does_not_count_twice(write_log: Write, tmp_path: Path) -> None:
    path = write_log().begin("a").after(10).done("a").begin("b").after(3).done("b").path
    assert len(attempts(tmp_path)) == 2
    (tmp_path / "a-copy.jsonl").write_bytes(path.read_bytes())
    for _ in ("new", "again"):
        assert [(r["step"], r["active_s"]) for r in in_jobs(tmp_path)] == [("a", 10), ("b", 3)]
        assert [str(f) for f in faults(tmp_path)] == ["a-copy.jsonl: tells of the same job as job-1.jsonl"]
    path.unlink()
    assert {r["log"] for r in attempts(tmp_path)} == {"a-copy.jsonl"}
    assert faults(tmp_path) == []


def test_words_that_could_not_be_decoded_do_not_lose_the_log(write_log: Write, tmp_path: Path) -> None:
    log = write_log(mechanic="J\udcf6rg").begin("a").after(3)
    log.add("note_taken", note=1, step="a", text="caf\udce9").done("a")
    (row,) = attempts(tmp_path)
    assert (row["mechanic"], row["notes"], row["active_s"]) == ("J?rg", ["caf?"], 3)
    assert faults(tmp_path) == []


@pytest.mark.skipif(os.geteuid() == 0, reason="root writes anywhere")
def test_a_folder_that_cannot_be_written_to_has_its_times(write_log: Write, tmp_path: Path) -> None:
    write_log().begin("a").after(10).done("a")
    tmp_path.chmod(0o500)
    try:
        assert [r["active_s"] for r in attempts(tmp_path)] == [10]
    finally:
        tmp_path.chmod(0o700)


def test_a_blocked_cache_only_costs_time(write_log: Write, tmp_path: Path) -> None:
    write_log().begin("a").after(10).done("a")
    (tmp_path / CACHE).write_text("in the way")
    assert [r["active_s"] for r in attempts(tmp_path)] == [10]
