"""How long is left in the job at hand: from logged times, the steps done today and the step that runs.

The steps done so far tell of this car and this mechanic today. They do it through one number h, the effect
that all steps of the job share. Given a set of spreads, h is normal before the job, N(0, common + job²). Each
step k done in T_k adds log(T_k / B_k) = mean_k + h + noise.

A step said done at once, or forgotten over lunch, tells nothing of the car. So the noise has the wide tails
of a t distribution with four degrees of freedom: the farther off a step, the less it weighs. The most likely
h is climbed to, each step weighing w_k = 5 / (4 + z_k²) with z_k its noise in standard deviations, and h is
taken as normal there:

    1 / v = 1 / (common + job²) + sum w_k / (own_k + sigma²),    h ~ N(v sum w_k r_k / (own_k + sigma²), v).

Each set of spreads is weighted by how well it foretold the steps done. A step that has run for a time e takes
more than e. So possible cars are weighted by the chance of that, and the rest of the step is drawn beyond e.
Where no odd times are foretold, the chance is never under `_GONE_ODD`, on any car.
"""

from collections.abc import Mapping, Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from companion.job.facts.events import Record
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.left import Left, is_to_do
from companion.labour.model.fitted import DRAWS_EACH, Fitted
from companion.labour.model.normal import normal_points, normal_sf
from companion.labour.model.prediction import Prediction
from companion.labour.table.stopwatch import Stopwatch
from companion.labour.table.task import Task, task_of
from companion.procedure.model import Act

Array = NDArray[np.float64]

_NORMAL = NormalDist()
_Z_EACH = normal_points(DRAWS_EACH)
_inverse = np.vectorize(_NORMAL.inv_cdf, otypes=[float])
VALUES = 2000
"""How many values a prediction has."""
_TAILS = 4.0
"""The degrees of freedom of the noise of the steps done."""
_CLIMBS = 25
_LEAST_S = 0.1
"""A step done in fewer seconds counts as this."""
_GONE_ODD = 0.02
"""The chance that a step runs on for a reason that nothing was logged of (common practice, no source)."""


class LoggedTimeLeft:
    """Answers "how long left" at the car from logged times. It must be shown every record of the job."""

    def __init__(self, fitted: Fitted, mechanic: str = "") -> None:
        self.fitted = fitted
        self.mechanic = mechanic
        self.watch = Stopwatch()

    def see(self, record: Record) -> None:
        """One more record of the job."""
        self.watch.see(record)

    def left(self, state: State, now: Instant) -> Left:
        """The labour still to do."""
        steps = {s.id: s for s in state.procedure.steps}
        tasks = {id_: task_of(s) for id_, s in steps.items()}
        done = {tasks[i]: s for i, s in self.watch.done.items() if i in tasks and steps[i].act != Act.WAIT}
        current = state.current if state.current and steps[state.current].act != Act.WAIT else None
        to_do = [tasks[i] for i, s in steps.items() if is_to_do(state, s) and i != state.current]
        running = (tasks[current], self.watch.elapsed(now)) if current else None
        found = time_left(self.fitted, done, running, to_do, self.mechanic)
        return Left(found.quantile(0.5), found.quantile(0.8), str(found.basis))


def time_left(
    fitted: Fitted,
    done: Mapping[Task, float],
    running: tuple[Task, float] | None,
    to_do: Sequence[Task],
    mechanic: str = "",
    seed: int = 1,
) -> Prediction:
    """What is left of the running step and of all steps to do.

    Args:
        done: the steps of this job that are finished, with their active seconds.
        running: the current step with its active seconds so far; it is not among `to_do`.
    """
    weight, middle, spread = _today(fitted, done, mechanic)
    rng = np.random.default_rng(seed)
    points = len(fitted.sigma)
    cars = middle[:, None] + np.sqrt(spread)[:, None] * _Z_EACH
    weights = np.repeat(weight[:, None], DRAWS_EACH, 1)
    total = np.zeros((points, DRAWS_EACH))
    if to_do:
        mean, own = fitted.logs(to_do, mechanic)
        half = rng.standard_normal((points, DRAWS_EACH // 2, len(to_do)), dtype=np.float32)
        noise = np.concatenate([half, -half], axis=1)
        logs = mean[:, None, :] + cars[:, :, None] + own[:, None, :] * noise
        total += fitted.with_odd(np.exp(logs) * fitted.books(to_do), rng).sum(2)
    if running is not None:
        rest, chance = _rest(fitted, running, mechanic, cars, rng)
        total += rest
        weights = weights * chance
    basis = fitted.basis([*to_do, *([running[0]] if running else [])])
    return Prediction(_equally_likely(total.ravel(), weights.ravel()), basis)


def _today(fitted: Fitted, done: Mapping[Task, float], mechanic: str) -> tuple[Array, Array, Array]:
    """For each set of spreads: its weight, and the mean and variance of h."""
    _, before = fitted.shared(mechanic)
    if not done:
        return np.ones(len(before)), np.zeros(len(before)), before
    tasks = list(done)
    mean, own = fitted.logs(tasks, mechanic)
    off = np.log(np.maximum([done[t] for t in tasks], _LEAST_S) / fitted.books(tasks)) - mean
    # The climb starts where most steps are; one or two of them have no majority, so it starts at no effect.
    h = np.median(np.pad(off, ((0, 0), (0, 2))), axis=1)
    for _ in range(_CLIMBS):
        weight = (_TAILS + 1) / (_TAILS + ((off - h[:, None]) / own) ** 2)
        precision = weight / own**2
        after = 1 / (1 / before + precision.sum(1))
        h = after * (precision * off).sum(1)
    surprise = (_TAILS + 1) * np.log1p(((off - h[:, None]) / own) ** 2 / _TAILS) + 2 * np.log(own)
    likely = -0.5 * (surprise.sum(1) + h**2 / before + np.log(before / after))
    return np.exp(likely - likely.max()), h, after


def _rest(
    fitted: Fitted, running: tuple[Task, float], mechanic: str, cars: Array, rng: np.random.Generator
) -> tuple[Array, Array]:
    """What is left of the running step on each possible car, and the chance that it takes so long at all."""
    task, elapsed = running
    mean, own = fitted.logs([task], mechanic)
    book = float(fitted.books([task])[0])
    middle = mean + cars
    factor, added = fitted.odd.draw(middle.shape, rng) if fitted.odd else (1.0, 0.0)
    so_far = np.maximum(elapsed - added, 1e-3) / factor
    z = (np.log(so_far / book) - middle) / own
    chance = normal_sf(z)
    likely = chance if fitted.odd else (1 - _GONE_ODD) * chance + _GONE_ODD
    beyond = np.maximum(chance * rng.random(z.shape), 1e-290)
    drawn = -_inverse(np.minimum(beyond, 1 - 1e-12))
    return np.maximum(factor * book * np.exp(middle + own * drawn) + added - elapsed, 0.0), likely


def _equally_likely(values: Array, weights: Array) -> Array:
    """VALUES equally likely values, the smallest first, that stand for weighted ones."""
    order = np.argsort(values)
    up_to = np.cumsum(weights[order])
    if not up_to[-1] > 0:  # no car was foreseen to take so long: none is likelier than another
        up_to = np.arange(1.0, len(order) + 1)
    ladder = (np.arange(VALUES) + 0.5) / VALUES * up_to[-1]
    middles = up_to - 0.5 * np.diff(up_to, prepend=0.0)
    return np.asarray(np.interp(ladder, middles, values[order]), float)
