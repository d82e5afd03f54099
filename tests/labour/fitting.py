"""What invented shops are fitted to, for tests and benchmarks."""

from companion.demo.shop import Shop
from companion.demo.shop_logs import MECHANICS, tasks_of
from companion.labour.model.fit import fit
from companion.labour.model.fitted import Fitted, StepSeen
from companion.labour.model.mixed_model import Observations


def fit_of(shop: Shop, seen: Observations) -> Fitted:
    """Of jobs of this shop."""
    jobs = len(seen.mechanic)
    told = tuple(StepSeen(t.step, t.work, jobs, shop.mechanics) for t in tasks_of(shop))
    return fit(seen, told, MECHANICS[: shop.mechanics], "Invented job", jobs)


def fit_after(shop: Shop, jobs: int) -> Fitted:
    """Of its next jobs, so many, as they are logged."""
    return fit_of(shop, shop.work(jobs).observations(shop.book_s, shop.mechanics))
