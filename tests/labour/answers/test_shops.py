"""Shops compared: kept apart, small ones drawn towards the rest, as an independent library pools them."""

import math
import shutil
from pathlib import Path

import numpy as np
import pytest
from statsmodels.stats.meta_analysis import combine_effects

from companion.errors import LabourError
from companion.labour.answers.shops import ShopRow, compare, pool
from companion.labour.table.fleet import Fleet, here, shop_tables
from companion.labour.table.shop import Shop as Said
from companion.labour.table.shop import write_shop
from tests.labour.table.test_fleet import spark
from tests.shops.logs import write_logs
from tests.shops.shop import Shop


def shop(folder: Path, seed: int, jobs: int, slower: float = 1.0) -> Path:
    """The logs of a shop that takes so many times as long as the others."""
    made = Shop.of(40, steps=6)
    made.seed, made.rng = seed, np.random.default_rng(seed)
    made.step = made.step + math.log(slower)
    list(write_logs(folder, made, jobs))
    return folder


@pytest.fixture
def three(tmp_path: Path) -> list[str]:
    return [
        str(shop(tmp_path / "north", 1, 30)),
        str(shop(tmp_path / "south", 2, 30, slower=1.5)),
        str(shop(tmp_path / "tiny", 3, 1, slower=3.0)),
    ]


def width(row: ShopRow) -> float:
    return math.log(row.high / row.low)


def compared(places: list[str]) -> dict[str, ShopRow]:
    with shop_tables(places) as tables, here(tables) as table:
        return {row.shop: row for row in compare(table)}


def test_shops_are_kept_apart_though_their_jobs_have_the_same_names(three: list[str]) -> None:
    rows = compared(three)
    assert {name: row.jobs for name, row in rows.items()} == {"north": 30, "south": 30, "tiny": 1}
    assert rows["south"].seen == pytest.approx(1.5 * rows["north"].seen, rel=0.15)
    assert rows["south"].low > rows["north"].high
    alone = compared([three[0]])["north"]
    assert alone.seen == pytest.approx(rows["north"].seen)
    assert alone.active == rows["north"].active


def test_a_shop_with_one_job_stands_near_the_others(three: list[str]) -> None:
    rows = compared(three)
    tiny, others = rows["tiny"], [rows["north"], rows["south"]]
    assert tiny.expected < tiny.seen
    assert width(tiny) > 2 * max(map(width, others))
    assert all(abs(math.log(one.expected / one.seen)) < 0.03 for one in others)


@pytest.mark.parametrize("seed", range(5))
def test_pooling_is_that_of_statsmodels(seed: int) -> None:
    rng = np.random.default_rng(seed)
    errors = rng.uniform(0.01, 0.2, 8)
    means = rng.normal(0.1, np.sqrt(errors + 0.05))
    found = pool(means.tolist(), errors.tolist())
    theirs = combine_effects(means, errors, method_re="dl")
    assert found.between == pytest.approx(max(0.0, theirs.tau2), abs=1e-9)
    random = theirs.tau2 > 0  # below nothing it is taken for nothing: then all shops are alike
    assert found.mean == pytest.approx(theirs.mean_effect_re if random else theirs.mean_effect_fe, rel=1e-9)
    assert found.error == pytest.approx(theirs.sd_eff_w_re if random else theirs.sd_eff_w_fe, rel=1e-9)


def test_places_are_folders_tables_and_patterns_and_a_shop_has_one_name(
    three: list[str], tmp_path: Path
) -> None:
    write_shop(tmp_path / "north", Said(name="Lindenhof Garage"))
    with shop_tables([three[0]]) as (one,):
        assert one.shop == "Lindenhof Garage"
        copied = tmp_path / "elsewhere" / "table.parquet"
        copied.parent.mkdir()
        shutil.copy(one.path, copied)
    assert set(compared([str(tmp_path / "[nst]*")])) == {"Lindenhof Garage", "south", "tiny"}
    assert set(compared([str(copied)])) == {"elsewhere"}
    assert set(compared([three[1], str(copied), str(tmp_path / "*" / "*.parquet")])) == {"south", "elsewhere"}


@pytest.mark.parametrize("place", ["nowhere", "*.parquet"])
def test_a_place_that_is_not_there_is_named(place: str) -> None:
    with pytest.raises(LabourError, match="there is no such folder"), shop_tables([place]):
        pass


def test_what_is_no_step_table_is_told(tmp_path: Path) -> None:
    (tmp_path / "x.parquet").write_text("no table")
    with (
        shop_tables([str(tmp_path / "x.parquet")]) as tables,
        pytest.raises(LabourError, match="make it anew with 'companion times'"),
        here(tables),
    ):
        pass


@spark
def test_spark_tells_the_same(three: list[str]) -> None:
    with shop_tables(three) as tables, Fleet(tables, "local[1]") as table:
        there = {row.shop: row for row in compare(table)}
    for name, row in compared(three).items():
        assert there[name].expected == pytest.approx(row.expected, rel=1e-9)
        assert there[name].jobs == row.jobs
        assert there[name].active.total_seconds() == pytest.approx(row.active.total_seconds())


@spark
def test_a_master_that_is_not_there_is_one_line(three: list[str]) -> None:
    with shop_tables(three[:1]) as tables, pytest.raises(LabourError, match="check --master"):
        Fleet(tables, "no-such-master")
