"""How long is left in the job at hand: from logged times, the steps done today and the step that runs.

The steps done so far tell of this car and this mechanic today. They do it through one number h, the effect
that all steps of the job share. Given a set of spreads, h is normal before the job, N(0, common + job²). Each
step k done in T_k adds log(T_k / B_k) = mean_k + h + noise, with variance own_k + sigma²; so

    1 / v = 1 / (common + job²) + sum 1 / (own_k + sigma²),    h ~ N(v sum r_k / (own_k + sigma²), v).

Each set of spreads is weighted by how well it foretold the steps done. A step that has run for a time e takes
more than e. So possible cars are weighted by the chance of that, and the rest of the step is drawn beyond e.
"""

from collections.abc import Mapping, Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from companion.job.facts.events import Record
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.left import Left, is_to_do
from companion.labour.model.fitted import DRAWS_EACH, Fitted, book_seconds, log_of
from companion.labour.model.normal import normal_points, normal_sf
from companion.labour.model.odd_times import FAR
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
        total += fitted.with_odd(np.exp(logs) * book_seconds(to_do), rng).sum(2)
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
    off = np.array([log_of(done[t], t) for t in tasks]) - mean
    told = np.ones(off.shape, bool)
    if fitted.odd:  # an odd time tells nothing of the car; with one or two steps it cannot be told apart
        told = np.abs(off - np.median(off, axis=1, keepdims=True)) <= FAR * own
        limit = FAR * np.sqrt(own**2 + before[:, None])
        off = np.clip(off, -limit, limit)
    precision = told / own**2
    after = 1 / (1 / before + precision.sum(1))
    pull = (off * precision).sum(1)
    # log N(off; 0, diag(own²) + before 11'), by the matrix determinant lemma and Sherman-Morrison.
    fit = -0.5 * (
        np.log(before / after)
        + 2 * (told * np.log(own)).sum(1)
        + (off**2 * precision).sum(1)
        - after * pull**2
    )
    return np.exp(fit - fit.max()), after * pull, after


def _rest(
    fitted: Fitted, running: tuple[Task, float], mechanic: str, cars: Array, rng: np.random.Generator
) -> tuple[Array, Array]:
    """What is left of the running step on each possible car, and the chance that it takes so long at all."""
    task, elapsed = running
    mean, own = fitted.logs([task], mechanic)
    book = task.book.total_seconds()
    middle = mean + cars
    factor, added = fitted.odd.draw(middle.shape, rng) if fitted.odd else (1.0, 0.0)
    so_far = np.maximum(elapsed - added, 1e-3) / factor
    z = (np.log(so_far / book) - middle) / own
    chance = normal_sf(z)
    beyond = np.maximum(chance * rng.random(z.shape), 1e-290)
    drawn = -_inverse(np.minimum(beyond, 1 - 1e-12))
    return np.maximum(factor * book * np.exp(middle + own * drawn) + added - elapsed, 0.0), chance


def _equally_likely(values: Array, weights: Array) -> Array:
    """VALUES equally likely values, the smallest first, that stand for weighted ones."""
    order = np.argsort(values)
    up_to = np.cumsum(weights[order])
    if not up_to[-1] > 0:  # no car was foreseen to take so long: none is likelier than another
        up_to = np.arange(1.0, len(order) + 1)
    ladder = (np.arange(VALUES) + 0.5) / VALUES * up_to[-1]
    middles = up_to - 0.5 * np.diff(up_to, prepend=0.0)
    return np.asarray(np.interp(ladder, middles, values[order]), float)
