"""The step table is kept beside the logs, and only what changed is read again."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from companion.errors import LabourError
from companion.labour.table.collect import collect
from companion.labour.table.columns import CACHE
from tests.labour.table.asking import attempts, faults, in_jobs
from tests.shops.logs import tasks_of, write_logs
from tests.shops.shop import Shop

Write = Callable[..., Any]


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


def test_an_empty_folder_has_an_empty_table(tmp_path: Path) -> None:
    assert attempts(tmp_path) == []
    assert in_jobs(tmp_path) == []


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(LabourError, match="no such folder"):
        collect(tmp_path / "nowhere")


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
