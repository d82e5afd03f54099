"""Two ways of doing the same job, compared by logged times.

Both ways are drawn for the same cars and the same mechanic. What they share (a rusty car, a slow day) so does
not blur the difference.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.fitted import DRAWS_EACH, Fitted
from companion.labour.model.prediction import Prediction
from companion.labour.table.task import Task

Array = NDArray[np.float64]


@dataclass(frozen=True)
class TwoWays:
    """Two ways of doing the same job, compared."""

    first: Prediction
    second: Prediction
    first_quicker: float
    """The probability that the first way is quicker on the next car."""
    saved: Prediction
    """The time of the second less that of the first. It is negative where the second is quicker."""
    not_by_lot: bool = False
    """Each way was timed in jobs of its own, and nobody drew lots which car goes which way."""

    @property
    def quicker(self) -> str:
        """Which way has the smaller mean, "first" or "second". Means are what adds up over jobs."""
        return "first" if self.first.mean <= self.second.mean else "second"

    @property
    def sure(self) -> float:
        """The probability that the quicker way is quicker on the next car."""
        return self.first_quicker if self.quicker == "first" else 1 - self.first_quicker


def compare(fitted: Fitted, first: Sequence[Task], second: Sequence[Task], mechanic: str = "") -> TwoWays:
    """Compare two lists of steps of one procedure. A step of both takes the same time in both."""
    union = _union(first, second)
    times = fitted.draw(union, mechanic)
    a, b = sum_of(times, union, first), sum_of(times, union, second)
    return TwoWays(
        first=Prediction(np.sort(a), fitted.basis(first)),
        second=Prediction(np.sort(b), fitted.basis(second)),
        first_quicker=float((a < b).mean() + 0.5 * (a == b).mean()),
        saved=Prediction(np.sort(b - a), fitted.basis(union)),
    )


def compare_procedures(
    first_fit: Fitted,
    first: Sequence[Task],
    second_fit: Fitted,
    second: Sequence[Task],
    mechanic: str = "",
) -> TwoWays:
    """Compare two procedures, each with a fit of its own. Work of both takes the same time in both.

    Shared work is drawn from the fit that timed it more often. The slow cars of one fit are the slow cars of
    the other.
    """
    in_second = {(t.step, t.work) for t in second}
    shared = [t for t in first if (t.step, t.work) in in_second]
    kept = {(t.step, t.work) for t in shared}
    best = max(first_fit, second_fit, key=lambda fit: fit.basis(shared).jobs)
    both = _drawn(best, shared, mechanic, seed=3)
    a = _drawn(first_fit, [t for t in first if (t.step, t.work) not in kept], mechanic, seed=1)
    b = _drawn(second_fit, [t for t in second if (t.step, t.work) not in kept], mechanic, seed=2)
    fewer = min(first_fit.basis(first), second_fit.basis(second), key=lambda basis: basis.jobs)
    return TwoWays(
        first=Prediction(np.sort(a + both), first_fit.basis(first)),
        second=Prediction(np.sort(b + both), second_fit.basis(second)),
        first_quicker=float((a < b).mean() + 0.5 * (a == b).mean()),
        saved=Prediction(np.sort(b - a), fewer),
        not_by_lot=bool(first_fit.jobs and second_fit.jobs),
    )


def _union(first: Sequence[Task], second: Sequence[Task]) -> list[Task]:
    return list(dict.fromkeys([*first, *second]))


def _drawn(fitted: Fitted, tasks: Sequence[Task], mechanic: str, seed: int) -> Array:
    """The time of these tasks in each drawn job. No work takes no time."""
    if not tasks:
        return np.zeros(len(fitted.sigma) * DRAWS_EACH)
    return fitted.draw(tasks, mechanic, seed).sum(1)  # type: ignore[no-any-return]


def sum_of(times: Array, tasks: Sequence[Task], some: Sequence[Task]) -> Array:
    """The time of some of the tasks in each drawn job."""
    where = {t: n for n, t in enumerate(tasks)}
    return times[:, [where[t] for t in some]].sum(1)  # type: ignore[no-any-return]
