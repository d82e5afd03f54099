"""Whether ranges hold what they promise, told with what chance alone allows."""

from collections.abc import Iterator

import numpy as np
import pytest

from companion.labour.report.foresight import PLAYED, Foretold, foretold, summed
from companion.labour.report.report_data import Held, Verdict
from tests.shops.fitting import observed_of
from tests.shops.shop import Shop


def held_in(shop: Shop, jobs: int, widen: float = 1.0) -> tuple[Held, ...]:
    """What the report finds in a shop; its later jobs scatter so many times as far."""
    seen = shop.work(jobs).observations(shop.book_s, shop.mechanics)
    if widen != 1.0:
        later = seen.log_ratio[jobs * 2 // 3 :]
        later[:] = later.mean(0) + widen * (later - later.mean(0))
    return summed(foretold(observed_of(shop, seen)))


def test_right_ranges_are_seldom_called_wrong() -> None:
    """Once in twenty at most. Of 40 shops 2 are expected, and 6 or more in one such run of fifty."""
    wrong = 0
    for seed in range(40):
        told = held_in(Shop.of(1200 + seed, steps=12), 24)
        wrong += any(one.verdict in (Verdict.WIDE, Verdict.NARROW) for one in told)
    assert wrong <= 5


def test_ranges_that_are_far_too_narrow_are_found_out() -> None:
    found = [held_in(Shop.of(1300 + seed, steps=20), 90, widen=2.0) for seed in range(5)]
    assert sum(any(one.verdict is Verdict.NARROW for one in told) for told in found) >= 4
    calm = [held_in(Shop.of(1300 + seed, steps=20), 90, widen=0.3) for seed in range(5)]
    assert sum(any(one.verdict is Verdict.WIDE for one in told) for told in calm) >= 4


def test_a_few_later_jobs_are_no_ground_for_a_verdict() -> None:
    told = held_in(Shop.of(1401, steps=4), 9)
    assert told[0].jobs == 3
    assert told[0].verdict is Verdict.TOO_FEW


def test_too_few_jobs_are_not_looked_at() -> None:
    assert held_in(Shop.of(1400), 8) == ()


@pytest.mark.parametrize(("spread", "verdict"), [(5, Verdict.RIGHT), (150, Verdict.TOO_FEW)])
def test_the_verdict_needs_little_room_for_chance(spread: int, verdict: Verdict) -> None:
    def shop() -> Iterator[Foretold]:
        counts = np.round(500 + spread * np.linspace(-2, 2, PLAYED)).astype(int)
        yield Foretold(50, 1000, np.array([500, 800, 950]), np.stack([counts, counts + 300, counts + 450], 1))

    assert summed(shop())[0].verdict is verdict
