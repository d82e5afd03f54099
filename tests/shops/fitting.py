"""What invented shops are fitted to, for tests and benchmarks."""

import numpy as np

from companion.labour.model.fit import fit
from companion.labour.model.fitted import Fitted
from companion.labour.model.observations import Observations, Observed, StepSeen
from tests.shops.logs import MECHANICS, tasks_of
from tests.shops.shop import Shop


def observed_of(shop: Shop, seen: Observations) -> Observed:
    """Jobs of this shop, as its logs would give them."""
    jobs = len(seen.mechanic)
    steps = tuple(
        StepSeen(t.step, t.work, jobs, shop.mechanics, book_s=t.book.total_seconds()) for t in tasks_of(shop)
    )
    return Observed("Invented job", jobs, seen, np.arange(jobs), steps, MECHANICS[: shop.mechanics])


def fit_of(shop: Shop, seen: Observations) -> Fitted:
    """Fit jobs of this shop."""
    return fit(observed_of(shop, seen))


def fit_after(shop: Shop, jobs: int) -> Fitted:
    """Fit the next jobs of this shop, so many, as they are logged."""
    return fit_of(shop, shop.work(jobs).observations(shop.book_s, shop.mechanics))
