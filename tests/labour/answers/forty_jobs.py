"""A shop, its steps as labour, and what forty of its jobs say."""

import numpy as np

from tests.shops.fitting import fit_after
from tests.shops.logs import tasks_of
from tests.shops.shop import Shop

SHOP = Shop(21, np.full(10, 600.0), spreads=np.array([0.3, 0.3, 0.1, 0.3]))
TASKS = tasks_of(SHOP)
FITTED = fit_after(SHOP, 40)
