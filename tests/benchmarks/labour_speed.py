"""From a million step records in job logs to the table and the times; and how quickly the car is answered.

    python -m tests.benchmarks.labour_speed [--records 1000000] [--folder DIR] [--spark]

Each stage runs in a fresh process, so that its peak memory is its own. Side by side: the Ibis expressions
against the same questions as hand-written SQL on the same table, and (with --spark) against PySpark.
"""

import argparse
import json
import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import numpy as np

STEPS = 30

BY_HAND = """
SELECT title, step, work, max(act), max(book_s), count(*), count(DISTINCT mechanic),
    sum(CASE WHEN censored THEN 1 ELSE 0 END), sum(CASE WHEN attempts > 1 THEN 1 ELSE 0 END),
    exp(avg(l) FILTER (NOT censored)), avg(active_s) FILTER (NOT censored), sum(interrupted_s),
    var_pop(l) FILTER (NOT censored), var_pop(n) FILTER (NOT censored), covar_pop(l, n) FILTER (NOT censored)
FROM (SELECT *, ln(greatest(active_s, 0.1)) AS l, CAST(job_number AS DOUBLE) AS n FROM (
    SELECT job, step, work, any_value(job_number) AS job_number, any_value(title) AS title,
        any_value(mechanic) AS mechanic, any_value(act) AS act, max(book_s) AS book_s,
        sum(active_s) AS active_s, sum(interrupted_s) AS interrupted_s, count(*) AS attempts,
        max(attempt) <> max(CASE WHEN outcome = 'done' THEN attempt ELSE 0 END) OR bool_or(gap) AS censored
    FROM steps WHERE labour AND outcome <> 'not_needed'
    GROUP BY job, step, work))
GROUP BY title, step, work
"""


def stage_collect(logs: Path) -> dict[str, Any]:
    """Logs to table."""
    from companion.labour.collect import CACHE, collect

    shutil.rmtree(logs / CACHE, ignore_errors=True)
    with collect(logs) as table:
        return {"records": table.count()}


def stage_times(logs: Path) -> dict[str, Any]:
    """Table to fitted times, as `companion times` does it."""
    from companion.labour.collect import collect
    from companion.labour.times import times

    with collect(logs) as table:
        return {"steps": len(times(table).steps)}


def stage_both(logs: Path) -> dict[str, Any]:
    """Logs to fitted times in one go."""
    from companion.labour.collect import CACHE, collect
    from companion.labour.times import times

    shutil.rmtree(logs / CACHE, ignore_errors=True)
    with collect(logs) as table:
        return {"steps": len(times(table).steps), "records": table.count()}


def stage_ibis(logs: Path) -> dict[str, Any]:
    """The same question as Ibis expressions and by hand, in turn, the best of five each."""
    import ibis

    from companion.labour.collect import collect
    from companion.labour.expressions import by_step, per_job

    with collect(logs) as table:
        written = str(ibis.to_sql(by_step(per_job()), dialect="duckdb"))
        took: dict[str, list[float]] = {"ibis": [], "by_hand": []}
        for _ in range(5):
            for name, sql in (("ibis", written), ("by_hand", BY_HAND)):
                started = time.perf_counter()
                table.connection.execute(sql).fetchall()
                took[name].append(time.perf_counter() - started)
    return {name: min(times) for name, times in took.items()}


def stage_spark(logs: Path) -> dict[str, Any]:
    """The same table on PySpark, and the largest relative difference."""
    from companion.labour.collect import collect
    from companion.labour.expressions import by_step
    from companion.labour.fleet import Fleet

    with collect(logs) as table:
        here = {r["step"]: r for r in table.ask(by_step())}
        assert table.parquet is not None
        with Fleet([table.parquet]) as fleet:
            started = time.perf_counter()
            there = fleet.ask(by_step())
            took = time.perf_counter() - started
    worst = max(
        _apart(row[c], here[row["step"]][c]) for row in there for c in ("seen_s", "mean_s", "log_var")
    )
    return {"query_s": took, "worst_relative_difference": worst}


def _apart(one: float, other: float) -> float:
    return abs(one - other) / max(abs(one), 1e-9)


def stage_left(_: Path) -> dict[str, Any]:
    """How long left, in a job of 60 steps, at every step; fit loaded from JSON."""
    from companion.labour.fitted import Fitted, StepSeen
    from companion.labour.left import time_left
    from companion.labour.model import fit
    from companion.labour.shop import Shop
    from companion.labour.shop_logs import tasks_of

    shop = Shop.of(1, steps=60)
    tasks = tasks_of(shop)
    told = tuple(StepSeen(t.step, t.work, 20, 3) for t in tasks)
    kept = json.dumps(fit(shop.work(20).observations(shop.book_s, 3), told, ("a", "b", "c")).to_data())
    started = time.perf_counter()
    fitted = Fitted.from_data(json.loads(kept))
    loading = time.perf_counter() - started
    truth = shop.work(1).true_s[0]
    took = []
    for k in range(60):
        done = dict(zip(tasks[:k], truth.tolist(), strict=False))
        started = time.perf_counter()
        time_left(fitted, done, (tasks[k], 0.5 * float(truth[k])), tasks[k + 1 :], "a")
        took.append(1000 * (time.perf_counter() - started))
    return {
        "load_ms": 1000 * loading, "median_ms": float(np.median(took)),
        "p95_ms": float(np.quantile(took, 0.95)), "worst_ms": max(took), "kept_bytes": len(kept),
    }  # fmt: skip


STAGES: dict[str, Callable[[Path], dict[str, Any]]] = {
    "collect": stage_collect,
    "times": stage_times,
    "both": stage_both,
    "ibis": stage_ibis,
    "spark": stage_spark,
    "left": stage_left,
}


def run(stage: str, logs: Path) -> dict[str, Any]:
    """One stage in a process of its own: its answer, with wall seconds, CPU seconds and peak MB."""
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.labour_speed", "--stage", stage, "--folder", str(logs)],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    answer: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    answer["wall_s"] = time.perf_counter() - started
    return answer


def make(logs: Path, records: int) -> None:
    """The invented logs, when they are not there yet."""
    from companion.labour.shop import Shop
    from companion.labour.shop_logs import write_logs

    jobs = -(-records // STEPS)
    if len(list(logs.glob("*.jsonl"))) != jobs:
        for _ in write_logs(logs, Shop.of(1, steps=STEPS), jobs):
            pass


def main() -> None:
    """Make the logs, run the stages, print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--records", type=int, default=1_000_000)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--stage", choices=STAGES)
    parser.add_argument("--spark", action="store_true")
    arguments = parser.parse_args()
    if arguments.stage:
        answer = STAGES[arguments.stage](arguments.folder)
        used = resource.getrusage(resource.RUSAGE_SELF)
        answer |= {"cpu_s": used.ru_utime + used.ru_stime, "peak_mb": used.ru_maxrss / 1024}
        print(json.dumps(answer))
        return
    logs = arguments.folder or Path(mkdtemp(prefix="labour-speed-"))
    logs.mkdir(parents=True, exist_ok=True)
    make(logs, arguments.records)
    size = sum(f.stat().st_size for f in logs.glob("*.jsonl")) / 1e6
    print(f"{arguments.records} step records in {size:.0f} MB of logs")
    for stage in STAGES:
        if stage == "spark" and not arguments.spark:
            continue
        answer = run(stage, logs)
        print(f"{stage:8}", "  ".join(f"{k} {v:.4g}" for k, v in answer.items()), flush=True)
        if stage == "ibis":
            ratio = answer["ibis"] / answer["by_hand"]
            print(f"         Ibis on DuckDB takes {ratio:.2f} times hand-written SQL")
    if arguments.folder is None:
        shutil.rmtree(logs)


if __name__ == "__main__":
    main()
