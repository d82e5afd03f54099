"""What invented shops are fitted to, for tests and benchmarks."""

import numpy as np

from companion.labour.model.fit import fit
from companion.labour.model.fitted import Fitted
from companion.labour.model.observations import Observations, Observed, StepSeen
from tests.shops.logs import MECHANICS, tasks_of
from tests.shops.shop import Shop


def fit_of(shop: Shop, seen: Observations) -> Fitted:
    """Fit jobs of this shop."""
    jobs = len(seen.mechanic)
    steps = tuple(StepSeen(t.step, t.work, jobs, shop.mechanics) for t in tasks_of(shop))
    return fit(Observed("Invented job", jobs, seen, np.arange(jobs), steps, MECHANICS[: shop.mechanics]))


def fit_after(shop: Shop, jobs: int) -> Fitted:
    """Fit the next jobs of this shop, so many, as they are logged."""
    return fit_of(shop, shop.work(jobs).observations(shop.book_s, shop.mechanics))
