"""Invented shops: the same seed makes the same shop, and demo jobs are as the core would have logged them."""

import json
from pathlib import Path

import numpy as np
import pytest

from companion.demo.shop import Shop, Trouble
from companion.demo.shop_demo import write_demo
from companion.demo.shop_logs import write_logs
from companion.job.facts.events import Record
from companion.job.facts.folding import replay
from companion.labour.table.collect import collect
from companion.labour.table.questions import per_job
from companion.logbook.procedures import kept_procedure
from companion.procedure.model import Act
from companion.procedure.read import read_procedure

PROCEDURES = Path(__file__).parents[2] / "procedures"


def test_the_same_seed_makes_the_same_shop() -> None:
    one, other = Shop.of(3).work(5), Shop.of(3).work(5)
    assert (one.true_s == other.true_s).all()
    assert (Shop.of(4).work(5).true_s != one.true_s).any()


def test_effects_are_as_they_were_drawn() -> None:
    shop = Shop.of(12, steps=10)
    jobs = shop.work(40_000)
    logs = np.log(jobs.true_s / shop.book_s)
    assert logs.mean(0) == pytest.approx(shop.base + shop.step + shop.person[jobs.mechanic].mean(), abs=0.02)
    assert logs.mean(1).var() == pytest.approx(
        shop.job**2 + shop.sigma**2 / 10 + shop.person[jobs.mechanic].var(), rel=0.05
    )


def test_trouble_is_what_it_says() -> None:
    quiet, late = Shop.of(5).work(2000), Shop.of(5, trouble=Trouble(late=True)).work(2000)
    assert (late.true_s == quiet.true_s).all()
    assert late.logged_s.sum() == pytest.approx(late.true_s.sum())
    moved = (late.logged_s != late.true_s).any(1)
    assert (moved == (late.mechanic == 0)).all()
    unlogged = Shop.of(5, trouble=Trouble(unlogged=0.1)).work(2000)
    share = float((unlogged.logged_s > unlogged.true_s).mean())
    assert share == pytest.approx(0.1, abs=0.01)
    rusty = Shop.of(5, trouble=Trouble(rusty=(1,))).work(3).true_s / Shop.of(5).work(3).true_s
    assert rusty[:, 0] == pytest.approx([1.0, 1.8, 1.0])


def test_every_line_of_a_plain_log_is_an_event(tmp_path: Path) -> None:
    list(write_logs(tmp_path, Shop.of(6, steps=4), 3, hold_every=3))
    for path in tmp_path.glob("*.jsonl"):
        records = [Record.from_line(json.loads(line)) for line in path.read_text().splitlines()]
        assert [r.seq for r in records] == list(range(1, len(records) + 1))
        assert records[0].event.job == path.stem


def test_demo_jobs_are_whole(tmp_path: Path) -> None:
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
