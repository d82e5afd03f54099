"""Times far off the rest: a call that nobody logged, a step said done long after it was.

Such a time would widen the spread that all times share, and so every range. A time counts as odd when its
log lies more than FAR robust standard deviations from what was expected of it. Odd times count at all only
where there are more of them than chance makes: at least two, and three standard deviations over the number
that chance makes. They are left out of the fit, and a time to come is an odd one with the same chance.

A single time may be so far off that no chance makes it: a step left running over a night, a step said done
before it was begun. Where the rule above finds nothing, a time that lies more than VERY_FAR from the middle
of its job and its step is drawn in to _CLIPPED, and told. It is not foretold: once is no rule.

What makes a time odd has nothing to do with its step. A time that is too long lost so many seconds, whichever
step they would have befallen. A time that is too short is so small a part of what was expected; the rest was
counted in another step.

The robust standard deviation is 1.4826 times the median of the absolute residuals (sigma, where they are
normal). A step whose times vary more has a wider one of its own.
"""

import math
import warnings
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.mixed_model import TYPICAL_SPREADS
from companion.labour.model.most_likely import MostLikely, cars, line_of, most_likely
from companion.labour.model.normal import normal_sf
from companion.labour.model.observations import Observations

Array = NDArray[np.float64]

FAR = 3.5
VERY_FAR = 5.0
"""In robust standard deviations. In normal times it is met once in two million."""
FEWEST = 10
"""With fewer times than this, none is odd."""
_CLIPPED = 2.5
"""In robust standard deviations. A larger residual counts as this in the spread of its step."""
_CLIPPED_VARIANCE = 0.9776
"""The variance of a standard normal that is clipped there."""
_ALIKE = 8.0
"""With so many times, a step's own spread counts as much as the common one."""
_FEWEST_OF_STEP, _FEWEST_OF_OWN = 3, 6
"""A step with so many times has a middle, and a spread, of its own."""
_ROUNDS = 4
KEPT = 32
"""The most changes that are kept. More are thinned out evenly."""


@dataclass(frozen=True)
class Odd:
    """The odd times of one procedure."""

    times: int
    of: int
    """How many finished times there are."""
    changes: Array
    """(k, 2) Equally likely changes of a time: it is multiplied by the first, and the second is added, in
    seconds. None of them (k = 0) where the times are too few to foretell more."""

    def __str__(self) -> str:
        """Such as "12 of 600 times are far off the rest (the long ones typically by 25 min)"."""
        if not len(self.changes):
            return (
                f"{self.times} of {self.of} times {'is' if self.times == 1 else 'are'} very far off the rest"
            )
        lost = self.changes[self.changes[:, 1] > 0, 1]
        by = f" (the long ones typically by {np.median(lost) / 60:.0f} min)" if len(lost) else ""
        return f"{self.times} of {self.of} times are far off the rest{by}"

    @property
    def share(self) -> float:
        """The chance that a time to come is odd."""
        if not len(self.changes):
            return 0.0
        return (self.times + 0.5) / (self.of + 1)

    @property
    def consequence(self) -> str:
        """What they do to the numbers foretold."""
        if not len(self.changes):
            return (
                "counts little; once is no rule" if self.times == 1 else "count little; they are no rule yet"
            )
        return f"count as a chance of {100 * self.share:.1f} %, not wider ranges"

    def draw(self, shape: tuple[int, ...], rng: np.random.Generator) -> tuple[Array, Array]:
        """What happens to times to come: by what each is multiplied, and what is added, in seconds. Most stay
        as they are."""
        factor, added = np.ones(shape), np.zeros(shape)
        where = rng.integers(0, factor.size, rng.binomial(factor.size, self.share))
        change = self.changes[rng.integers(0, len(self.changes), len(where))]
        factor.reshape(-1)[where], added.reshape(-1)[where] = change.T
        return factor, added

    def befall(self, seconds: Array, rng: np.random.Generator) -> Array:
        """These times, in seconds, some of them made odd."""
        factor, added = self.draw(seconds.shape, rng)
        return seconds * factor + added


def without_odd(seen: Observations) -> tuple[Observations, MostLikely, Odd | None]:
    """The times without the odd ones, their most likely spreads without learning, and the odd ones."""
    whole = seen.timed & ~seen.censored
    by_chance = 2 * float(normal_sf(np.array(FAR))) * int(whole.sum())
    rest = seen
    first = found = most_likely(replace(seen, repetition=None))
    if seen.book_s is None or whole.sum() < FEWEST:
        return seen, first, None
    odd = np.zeros_like(whole)
    for _ in range(_ROUNDS):
        expected = _expected(rest, found)
        off = np.where(seen.timed, seen.log_ratio - expected, 0.0)
        now = whole & (np.abs(off) > FAR * _scale(off, whole, rest))
        if now.sum() < 2 or now.sum() <= by_chance + 3 * math.sqrt(by_chance):
            return _drawn_in(seen, whole, first)
        if (now == odd).all():
            break
        odd = now
        rest = replace(seen, log_ratio=np.where(odd, np.nan, seen.log_ratio))
        found = most_likely(replace(rest, repetition=None), found.top)
    lost_s = (seen.book_s * np.exp(expected) * np.expm1(off))[odd]
    long = lost_s > 0
    changes = np.column_stack([np.where(long, 1.0, np.exp(off[odd])), np.where(long, lost_s, 0.0)])
    return rest, found, Odd(int(odd.sum()), int(whole.sum()), _thinned(changes))


def _drawn_in(
    seen: Observations, whole: NDArray[np.bool_], first: MostLikely
) -> tuple[Observations, MostLikely, Odd | None]:
    """The times with those that are very far off drawn in, if there are any."""
    middle, scale = _middle(np.where(whole, seen.log_ratio, np.nan))
    off = np.where(whole, seen.log_ratio - middle, 0.0)
    very = np.abs(off) > VERY_FAR * scale
    if not very.any():
        return seen, first, None
    drawn_in = np.where(very, middle + np.sign(off) * _CLIPPED * scale, seen.log_ratio)
    bounded = replace(seen, log_ratio=drawn_in)
    found = most_likely(replace(bounded, repetition=None), first.top)
    return bounded, found, Odd(int(very.sum()), int(whole.sum()), np.empty((0, 2)))


def _middle(logs: Array) -> tuple[Array, Array]:
    """(jobs, steps) The middle of each time's job and step, by medians; and how far times usually lie off it.

    A step timed less than three times has no middle of its own, so it may lie off by what steps do.
    """
    timed = (~np.isnan(logs)).sum(0)
    known = timed >= _FEWEST_OF_STEP
    with warnings.catch_warnings():  # a job, or a step, without any finished time
        warnings.simplefilter("ignore", RuntimeWarning)
        job = np.nanmedian(logs, axis=1, keepdims=True)
        step = np.nanmedian(logs - job, axis=0, keepdims=True)
        middle = job + np.where(known, step, 0.0)
        off = np.abs(logs - middle)
        common = np.where(known, np.nanmedian(off[:, known]), np.nanmedian(off[:, ~known]))
        own = np.where(timed >= _FEWEST_OF_OWN, np.nanmedian(off, axis=0), 0.0)
    usual = np.where(known, TYPICAL_SPREADS[0], math.hypot(*TYPICAL_SPREADS[:2]))
    return middle, np.fmax(usual, 1.4826 * np.fmax(common, own))


def _thinned(changes: Array) -> Array:
    """At most KEPT of them, evenly spaced from the shortest to the longest."""
    in_order = changes[np.lexsort((changes[:, 0], changes[:, 1]))]
    if len(in_order) <= KEPT:
        return in_order
    return np.asarray(in_order[((np.arange(KEPT) + 0.5) / KEPT * len(in_order)).astype(int)], float)


def _expected(rest: Observations, found: MostLikely) -> Array:
    """(jobs, steps) The log that is expected of each time, with the car."""
    spreads = np.exp(found.top)
    line = line_of(rest, found.sums, spreads)
    car = cars(rest.log_ratio - line, rest.timed & ~rest.censored, spreads)
    return np.asarray(line + car[:, None], float)


def _scale(off: Array, whole: NDArray[np.bool_], rest: Observations) -> Array:
    """(steps,) The robust standard deviation of the times of each step."""
    jobs, steps = whole.any(1).sum(), whole.any(0).sum()
    number = int((rest.timed & whole).sum())
    free = max(1.0, number - jobs - steps - rest.mechanics)
    common = 1.4826 * float(np.median(np.abs(off[whole]))) * math.sqrt(number / free)
    clipped = np.where(whole, np.clip(off / common, -_CLIPPED, _CLIPPED) ** 2, 0.0).sum(0)
    own = (_ALIKE + clipped / _CLIPPED_VARIANCE) / (_ALIKE + whole.sum(0))
    return common * np.sqrt(np.maximum(own, 1.0))  # type: ignore[no-any-return]
