"""Invented shops: the same seed makes the same shop, and trouble is what it says."""

import json
from pathlib import Path

import numpy as np
import pytest

from companion.job.facts.events import Record
from tests.shops.logs import write_logs
from tests.shops.shop import Shop, Trouble

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
