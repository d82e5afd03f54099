"""How much each step varies: told where the data show it, shared otherwise."""

import numpy as np
import pytest

from companion.labour.model.fitted import Fitted
from companion.labour.model.kept import from_data, to_data
from tests.shops.fitting import fit_after
from tests.shops.logs import tasks_of
from tests.shops.shop import Shop, Trouble


def vary(fitted: Fitted) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    assert fitted.vary is not None
    return fitted.vary


def test_steps_that_vary_more_are_told_apart() -> None:
    shop = Shop.of(4, steps=20, trouble=Trouble(uneven=0.5))
    fitted = fit_after(shop, 60)
    found, true = np.log(vary(fitted)), np.log(shop.uneven**2)
    assert np.corrcoef(found, true)[0, 1] > 0.9
    steady, wild = int(np.argmin(true)), int(np.argmax(true))
    low, high = (fitted.step(tasks_of(shop)[n]).interval(0.8) for n in (steady, wild))
    assert low[1] / low[0] < high[1] / high[0]


def test_steps_that_are_alike_share_one_spread() -> None:
    away = [np.abs(np.log(vary(fit_after(Shop.of(seed, steps=20), 30)))).max() for seed in range(8)]
    assert np.median(away) < 0.1


@pytest.mark.parametrize("jobs", [1, 2])
def test_from_few_jobs_nothing_is_told(jobs: int) -> None:
    assert (vary(fit_after(Shop.of(4, trouble=Trouble(uneven=0.8)), jobs)) == 1).all()


def test_it_is_kept() -> None:
    shop = Shop.of(4, steps=6, trouble=Trouble(uneven=0.5))
    fitted = fit_after(shop, 20)
    assert vary(from_data(to_data(fitted))) == pytest.approx(vary(fitted), rel=1e-4)
