"""From a million step records in job logs to the report, and how quickly the car is answered.

    python -m tests.benchmarks.labour_speed [--records 1000000] [--grow 10] [--talk 6] [--folder DIR]

Each stage runs in a fresh process, so that its peak memory is its own. Side by side: the whole way from the
logs to the report against DuckDB doing nothing but read the same lines, on two cores as well; the Ibis
expressions against the same question as hand-written SQL on the same table, and against PySpark; with
`--grow` the whole way with so many times as many logs.

The logs are one file a job, of 30 steps, as the companion writes them: four events a step, a hold in every
fortieth, three mechanics, one procedure. The complete jobs in `logs/demo` say and hear more at each
step; `--talk 6` writes as many events as they have. What was written is printed first.
"""

import argparse
import json
import os
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
WITH labour AS (FROM steps WHERE labour AND outcome <> 'not_needed'),
again AS (SELECT DISTINCT job_number, step, work FROM labour WHERE attempt > 1),
per_job AS (
    SELECT title, step, work, act, mechanic, job_number, book_s, active_s, interrupted_s, 1 AS attempts,
        outcome <> 'done' OR gap AS censored
    FROM labour ANTI JOIN again USING (job_number, step, work)
    UNION ALL
    SELECT any_value(title), step, work, any_value(act), any_value(mechanic), job_number,
        arg_max(book_s, attempt), sum(active_s), sum(interrupted_s), count(*),
        max(attempt) <> max(CASE WHEN outcome = 'done' THEN attempt ELSE 0 END) OR bool_or(gap)
    FROM labour SEMI JOIN again USING (job_number, step, work) GROUP BY job_number, step, work
)
SELECT title, step, work, max(act), arg_max(book_s, job_number), count(*), count(DISTINCT mechanic),
    sum(CASE WHEN censored THEN 1 ELSE 0 END), sum(CASE WHEN attempts > 1 THEN 1 ELSE 0 END),
    exp(avg(l) FILTER (NOT censored)), avg(active_s) FILTER (NOT censored), sum(interrupted_s),
    var_pop(l) FILTER (NOT censored), var_pop(n) FILTER (NOT censored), covar_pop(l, n) FILTER (NOT censored)
FROM (
    SELECT *, ln(greatest(active_s, 0.1)) AS l FROM per_job JOIN (
        SELECT title, job_number,
            CAST(row_number() OVER (PARTITION BY title ORDER BY job_number) AS DOUBLE) AS n
        FROM (SELECT DISTINCT title, job_number FROM per_job)
    ) USING (title, job_number)
)
GROUP BY title, step, work
"""


def stage_floor(logs: Path) -> dict[str, Any]:
    """DuckDB alone: read the files, split the lines, take the JSON of each apart, and keep nothing."""
    import duckdb

    from companion.labour.table.read_logs import LINE

    files = sorted(str(f) for f in logs.glob("*.jsonl"))
    middle = len(files) // 2  # one list of texts is read on one core, so there are two
    with duckdb.connect() as connection:
        connection.execute("SET threads = 2")
        found = connection.execute(
            f"SELECT count(e.seq), max(e.event) FROM (SELECT {LINE} AS e FROM ("
            "SELECT unnest(string_split(rtrim(content, chr(10)), chr(10))) AS line "
            "FROM (FROM read_text($a) UNION ALL FROM read_text($b))))",
            {"a": files[:middle], "b": files[middle:]},
        ).fetchone()
    return {"events": found[0] if found else 0}


def stage_report(logs: Path) -> dict[str, Any]:
    """Logs to table, fit and report, with nothing kept from before."""
    from companion.labour.table.columns import CACHE

    shutil.rmtree(logs / CACHE, ignore_errors=True)
    return stage_again(logs)


def stage_again(logs: Path) -> dict[str, Any]:
    """The report again, when no log has changed."""
    from companion.labour.report.gather import gather
    from companion.labour.report.report import build_report
    from companion.labour.table.collect import collect

    with collect(logs) as table:
        assert not table.faults
        page = build_report(gather(table))
        return {"records": table.count(), "page_bytes": len(page)}


def stage_ibis(logs: Path) -> dict[str, Any]:
    """The same question as Ibis expressions and by hand, in turn, the best of five each."""
    import ibis

    from companion.labour.table.asked_of_table import by_step, per_job
    from companion.labour.table.collect import collect

    with collect(logs) as table:
        written = str(ibis.to_sql(by_step(per_job()), dialect="duckdb"))
        took: dict[str, list[float]] = {"ibis": [], "by_hand": []}
        answers = {}
        for _ in range(5):
            for name, sql in (("ibis", written), ("by_hand", BY_HAND)):
                started = time.process_time()
                answers[name] = table.connection.execute(sql).fetchall()
                took[name].append(time.process_time() - started)
    assert len(answers["ibis"]) == len(answers["by_hand"])
    return {f"{name}_cpu_s": min(times) for name, times in took.items()}


def stage_spark(logs: Path) -> dict[str, Any]:
    """The same table on PySpark, and the largest relative difference."""
    from companion.errors import LabourError
    from companion.labour.table.asked_of_table import by_step
    from companion.labour.table.collect import collect
    from companion.labour.table.fleet import Fleet, check_engine

    try:
        check_engine()
    except LabourError as error:
        return {"missing": str(error)}
    with collect(logs) as table:
        started = time.perf_counter()
        here = {r["step"]: r for r in table.ask(by_step())}
        duckdb_s = time.perf_counter() - started
        assert table.parquet is not None
        with Fleet([table.parquet]) as fleet:
            started = time.perf_counter()
            there = fleet.ask(by_step())
            took = time.perf_counter() - started
    assert len(here) == len(there)
    worst = max(_apart(row[c], value) for row in there for c, value in here[row["step"]].items())
    return {"duckdb_s": duckdb_s, "spark_s": took, "worst_relative_difference": worst}


def _apart(one: Any, other: Any) -> float:
    if isinstance(one, float):
        return abs(one - other) / max(abs(one), 1e-9)
    return 0.0 if one == other else float("inf")


def stage_left(_: Path) -> dict[str, Any]:
    """How long left, in a job of 60 steps, at every step; fit loaded from JSON."""
    from companion.labour.answers.left import time_left
    from companion.labour.model.kept import from_data, to_data
    from tests.shops.fitting import fit_after
    from tests.shops.logs import MECHANICS, tasks_of
    from tests.shops.shop import Shop

    shop = Shop.of(1, steps=60)
    tasks = tasks_of(shop)
    kept = json.dumps(to_data(fit_after(shop, 20)))
    started = time.perf_counter()
    fitted = from_data(json.loads(kept))
    loading = time.perf_counter() - started
    truth = shop.work(1).true_s[0]
    took, used = [], []
    for k in range(60):
        done = dict(zip(tasks[:k], truth.tolist(), strict=False))
        started, busy = time.perf_counter(), time.process_time()
        time_left(fitted, done, (tasks[k], 0.5 * float(truth[k])), tasks[k + 1 :], MECHANICS[0])
        took.append(1000 * (time.perf_counter() - started))
        used.append(1000 * (time.process_time() - busy))
    return {
        "load_ms": 1000 * loading, "median_ms": float(np.median(took)),
        "p95_ms": float(np.quantile(took, 0.95)), "worst_ms": max(took),
        "worst_cpu_ms": max(used), "kept_bytes": len(kept),
    }  # fmt: skip


STAGES: dict[str, Callable[[Path], dict[str, Any]]] = {
    "floor": stage_floor,
    "report": stage_report,
    "again": stage_again,
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


def make(logs: Path, records: int, talk: int) -> None:
    """The invented logs, when they are not there yet; and what they are like."""
    from tests.shops.logs import write_logs
    from tests.shops.shop import Shop

    logs.mkdir(parents=True, exist_ok=True)
    jobs = -(-records // STEPS)
    if len(list(logs.glob("*.jsonl"))) != jobs:
        for _ in write_logs(logs, Shop.of(1, steps=STEPS), jobs, talk=talk):
            pass
    print(f"{records} step records: {_density(logs, jobs * STEPS)}", flush=True)


def _density(logs: Path, records: int) -> str:
    files = sorted(logs.glob("*.jsonl"))
    size = sum(f.stat().st_size for f in files)
    some = files[:: max(1, len(files) // 40)]
    events = sum(f.read_bytes().count(b"\n") for f in some) * len(files) / len(some)
    return (
        f"{len(files)} logs of {size / 1e6:.0f} MB together; a record has {events / records:.1f} events in "
        f"{size / records / 1000:.2f} kB"
    )


def main() -> None:
    """Make the logs, run the stages, print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--records", type=int, default=1_000_000)
    parser.add_argument("--grow", type=int, help="the whole way again with so many times as many records")
    parser.add_argument("--talk", type=int, default=0, help="more events a step; 6 for as many as a full job")
    parser.add_argument("--folder", type=Path, help="where the logs are kept for the next time")
    parser.add_argument("--stage", choices=STAGES)
    arguments = parser.parse_args()
    if arguments.stage:
        answer = STAGES[arguments.stage](arguments.folder)
        used = resource.getrusage(resource.RUSAGE_SELF)
        answer |= {"cpu_s": used.ru_utime + used.ru_stime, "peak_mb": used.ru_maxrss / 1024}
        print(json.dumps(answer))
        return
    folder = arguments.folder or Path(mkdtemp(prefix="labour-speed-"))
    try:
        compare(folder, arguments.records, arguments.talk, arguments.grow)
    finally:
        if arguments.folder is None:
            shutil.rmtree(folder)


def compare(folder: Path, records: int, talk: int, grow: int | None) -> None:
    """Run all stages, printing as they go."""
    demo = Path("logs/demo")
    if demo.is_dir():
        begun = sum(f.read_bytes().count(b'"event": "step_begun"') for f in demo.glob("*.jsonl"))
        print(f"logs/demo, for comparison: {_density(demo, begun)}")
    print(f"{os.cpu_count()} cores; load {os.getloadavg()[0]:.1f} before the start")
    logs = folder / f"logs-{records}-{talk}"
    make(logs, records, talk)
    told = {stage: show(stage, logs) for stage in STAGES}
    cpu = {stage: answer["cpu_s"] for stage, answer in told.items()}
    print(f"the whole way takes {cpu['report'] / cpu['floor']:.2f} times the CPU time of reading the JSON")
    ratio = told["ibis"]["ibis_cpu_s"] / told["ibis"]["by_hand_cpu_s"]
    print(f"Ibis on DuckDB takes {ratio:.2f} times hand-written SQL")
    if grow:
        more = folder / f"logs-{grow * records}-{talk}"
        make(more, grow * records, talk)
        before, larger, after = show("report", logs), show("report", more), show("report", logs)
        for what, name in (("CPU", "cpu_s"), ("wall", "wall_s")):
            times = 2 * larger[name] / (before[name] + after[name])
            print(f"{grow} times the records take {times:.2f} times the {what} time (before and after)")


def show(stage: str, logs: Path) -> dict[str, Any]:
    """Run a stage and print its line."""
    answer = run(stage, logs)
    figures = (f"{k} {v:.4g}" if isinstance(v, float) else f"{k} {v}" for k, v in answer.items())
    print(f"{stage:8}", "  ".join(figures), f" load {os.getloadavg()[0]:.1f}", flush=True)
    return answer


if __name__ == "__main__":
    main()
