"""Sets of spreads drawn from their posterior, and the evidence of a model, against a plain grid."""

from itertools import product

import numpy as np
import pytest

from companion.labour.model.draws import Drawn, draw
from companion.labour.model.mixed_model import TYPICAL_SPREADS, Sums, log_posterior
from companion.labour.model.most_likely import climb
from companion.labour.model.observations import Observations
from tests.shops.shop import Shop


def both(shop: Shop, jobs: int) -> list[tuple[Sums, Drawn]]:
    """Without learning and with it."""
    seen = shop.work(jobs).observations(shop.book_s, shop.mechanics)
    plain = Observations(seen.log_ratio, seen.censored, seen.mechanic, seen.mechanics)
    found = []
    for observed in (plain, seen):
        sums = Sums.of(observed)
        top, curvature = climb(lambda x, s=sums: log_posterior(s, x), np.log(TYPICAL_SPREADS))  # type: ignore[misc]
        found.append((sums, draw(sums, top, curvature)))
    return found


@pytest.mark.parametrize("seed", range(3))
def test_evidence_and_means_agree_with_a_grid(seed: int) -> None:
    """The grid sums the posterior at 19 values of each log spread, three prior deviations to either side."""
    axes = [np.linspace(-2.4, 2.4, 19) + middle for middle in np.log(TYPICAL_SPREADS)]
    grid = np.array(list(product(*axes)))
    by_grid, drawn = [], []
    for sums, one in both(Shop.of(seed, steps=6, learning=0.8), 12):
        height = log_posterior(sums, grid)
        mass = np.exp(height - height.max())
        by_grid.append(height.max() + np.log(mass.sum()))
        drawn.append(one.log_evidence)
        spread = np.sqrt(one.weight @ (one.points - one.weight @ one.points) ** 2)
        assert one.weight @ one.points == pytest.approx(mass @ grid / mass.sum(), abs=0.2 * spread.max())
    assert drawn[1] - drawn[0] == pytest.approx(by_grid[1] - by_grid[0], abs=0.15)


def test_what_is_taken_is_spread_like_the_weights() -> None:
    for _, one in both(Shop.of(3, steps=8), 10):
        taken = np.log(one.take(64))
        assert taken.shape == (64, 4)
        assert taken.mean(0) == pytest.approx(one.weight @ one.points, abs=0.15)
        assert np.array_equal(one.take(64), one.take(64))


def test_evidence_is_for_learning_where_there_is_much_of_it_and_against_where_there_is_none() -> None:
    ahead = []
    for rate in (0.75, 1.0):
        models = [both(Shop.of(seed, steps=10, learning=rate), 25) for seed in range(12)]
        ahead.append(np.median([b.log_evidence - a.log_evidence for (_, a), (_, b) in models]))
    assert ahead[0] > 3
    assert ahead[1] < -0.5
