"""The demo: invented jobs are as the core would have logged them, and mix with no others."""

import json
from pathlib import Path

import pytest

from companion.demo.demo_logs import write_demo
from companion.errors import CompanionError
from companion.job.facts.events import Record
from companion.job.facts.folding import replay
from companion.labour.table.asked_of_table import per_job
from companion.labour.table.collect import collect
from companion.logbook.procedures import kept_procedure
from companion.procedure.model import Act
from companion.procedure.read import read_procedure

PROCEDURES = Path(__file__).parents[2] / "procedures"


def test_each_job_folds_to_a_whole_one_and_the_last_is_open(tmp_path: Path) -> None:
    names = write_demo(PROCEDURES, tmp_path, jobs=4)
    closed = []
    for name in names:
        lines = (tmp_path / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()
        records = [Record.from_line(json.loads(line)) for line in lines]
        procedure = read_procedure(kept_procedure(tmp_path, records[0].event.procedure_sha256))
        state = replay(procedure, records)
        closed.append(state.closed)
        assert not state.closed or not (state.open_items or state.open_seals)
    assert closed == [True, True, True, False]
    with collect(tmp_path) as table:
        rows = table.ask(per_job())
        assert {r["job"] for r in rows} == set(names)
        assert all(r["active_s"] > 0 for r in rows)
        assert sum(r["censored"] for r in rows) <= 1
        waits = table.query("SELECT count(*) AS n FROM steps WHERE NOT labour")[0]["n"]
    has_waits = any(s.act == Act.WAIT for p in PROCEDURES.glob("*.yaml") for s in read_procedure(p).steps)
    assert bool(waits) == has_waits


def test_the_same_seed_makes_the_same_logs(tmp_path: Path) -> None:
    one, again, other = (tmp_path / name for name in ("one", "again", "other"))
    (name,) = write_demo(PROCEDURES, one, jobs=1)
    assert write_demo(PROCEDURES, again, jobs=1) == write_demo(PROCEDURES, other, jobs=1, seed=1) == (name,)
    logs = [(folder / f"{name}.jsonl").read_bytes() for folder in (one, again, other)]
    assert logs[0] == logs[1] != logs[2]


def test_invented_jobs_are_never_mixed_with_others(tmp_path: Path) -> None:
    write_demo(PROCEDURES, tmp_path, jobs=1)
    write_demo(PROCEDURES, tmp_path, jobs=1)
    (tmp_path / "2031-02-03-my-own-1.jsonl").write_text("{}\n")
    with pytest.raises(CompanionError, match=r"holds other jobs, such as 2031-02-03-my-own-1; .* new folder"):
        write_demo(PROCEDURES, tmp_path, jobs=1)


def test_without_procedures_it_says_how_to_name_them(tmp_path: Path) -> None:
    with pytest.raises(CompanionError, match=r"holds no procedure .* --procedures"):
        write_demo(tmp_path, tmp_path / "logs")
    assert not (tmp_path / "logs").exists()
