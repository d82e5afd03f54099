"""The mixed model of step times, worked out from sums over the jobs.

For step s of job j, the r-th of mechanic m on this procedure, with T the active time and B the book time,

    y = log(T / B) = mu + a_s + b_m + c_j + e  (+ g log2(r) in the model with learning)

    mu ~ N(m0, BOOK_OFF²)    how far the book is off as a whole
    a_s ~ N(0, tau_step²)    this step takes longer than its book time, whoever does it
    b_m ~ N(0, tau_mech²)    this mechanic is slower
    c_j ~ N(0, tau_job²)     this job is slower, such as on a rusty car
    e ~ N(0, sigma²)         the rest
    g ~ N(USUAL_LEARNING, LEARNING²)    the log of the learning rate (`learning.py`)

Book times are made to be added up, so each is taken for a mean over what differs from step to step. That is
what m0 = -(sigma² + tau_step²) / 2 does: it makes E[exp(m0 + a_s + e)] = 1. With nothing logged, a whole job
is then as likely over as under the sum of its book times. One step alone typically takes a little less than
its book time.

Given the four spreads everything is normal. Within a job of K timed steps V = sigma² I + tau_job² 11', so

    V⁻¹ = (I - rho 11') / sigma²,   rho = tau_job² / (sigma² + K tau_job²),
    log det V = K log sigma² + log(1 + K tau_job² / sigma²),

and X'V⁻¹X, X'V⁻¹y and y'V⁻¹y need only sums over the jobs with the same K. Let D be the prior variances of
beta = (mu, a, b, g), M their prior means, C = X'V⁻¹X + D⁻¹ and r = X'V⁻¹y + D⁻¹M. The marginal
log-likelihood of the spreads is

    -½ [log det V + log det D + log det C + y'V⁻¹y + M'D⁻¹M - r'C⁻¹r]

(Henderson's mixed-model equations; with a flat prior on mu this is the REML likelihood). The spreads have
weak log-normal priors, because one job alone cannot tell them apart.

One job alone cannot tell a slow car from a slow book either: c_1 is added to all its steps, as mu is. V keeps
that doubt in the covariance of beta. So tau_job² widens the range for the next job twice: once for the car
that was seen, and once for the car to come.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.observations import Observations

Array = NDArray[np.float64]

SPREADS = ("sigma", "step", "mechanic", "job")
TYPICAL_SPREADS = np.array([0.35, 0.30, 0.12, 0.15])
"""The spreads that are likeliest before anything is seen, as standard deviations of the log time."""
SPREAD_OF_SPREADS = np.array([0.40, 0.50, 0.60, 0.60])
"""How far each may be off: the standard deviation of its log."""
BOOK_OFF = 0.35
"""The standard deviation of mu."""
USUAL_LEARNING = math.log(0.9)
LEARNING = 0.1
"""The mean and standard deviation of g. Rates of 80 to 90 % are common (from memory), rates below 70 % are
rare, and hardly anybody gets slower."""


def prior_mean(spreads: Array) -> Array:
    """m0 for each set of spreads, (n, 4) -> (n,)."""
    return -0.5 * (spreads[:, 0] ** 2 + spreads[:, 1] ** 2)


@dataclass(frozen=True)
class Sums:
    """All that the likelihood needs of the times.

    Sizes: p = 1 + steps + mechanics, and 1 more with learning; g is how many different K there are.
    """

    steps: int
    mechanics: int
    counts: Array
    """(g,) K, how many steps of a job were timed."""
    jobs: Array
    """(g,) How many jobs have that K."""
    xx: Array
    """(p, p) The sum of x x' over the observations."""
    xy: Array
    """(p,) The sum of x y."""
    yy: float
    learning: bool
    uu: Array
    """(g, p, p) The sum over jobs of u u', where u is the sum of x in the job."""
    uy: Array
    """(g, p) The sum over jobs of u times the sum of y in the job."""
    squares: Array
    """(g,) The sum over jobs of (sum of y)²."""

    @classmethod
    def of(cls, seen: Observations, extra: Array | None = None) -> "Sums":
        """The sums of these observations.

        Args:
            extra: (jobs, steps) The variance of the values that stand for censored ones.
        """
        return Design.of(seen).sums(seen.log_ratio, extra)


@dataclass(frozen=True)
class Design:
    """What the sums owe to which steps were timed, by whom and how often, whatever the times are."""

    seen: Observations
    timed: NDArray[np.bool_]
    u: Array
    """(jobs, p) The sum of x in each job."""
    counts: Array
    groups: list[Any]
    """For each of `counts`, the jobs that have it."""
    xx: Array
    uu: Array

    @classmethod
    def of(cls, seen: Observations) -> "Design":
        """The design of these observations: which times there are, not what they are."""
        timed, number, people = seen.timed, seen.timed.shape[1], seen.mechanics
        learning = int(seen.repetition is not None)
        p = 1 + number + people + learning
        k = timed.sum(1)
        u = np.zeros((len(k), p))
        u[:, 0] = k
        u[:, 1 : 1 + number] = timed
        u[np.arange(len(k)), 1 + number + seen.mechanic] = k
        xx = np.zeros((p, p))
        by_mechanic = np.zeros((people, number))
        for m in range(people):
            by_mechanic[m] = timed[seen.mechanic == m].sum(0)
        steps, who = slice(1, 1 + number), slice(1 + number, 1 + number + people)
        xx[0, 0] = by_mechanic.sum()
        xx[0, steps] = xx[steps, 0] = by_mechanic.sum(0)
        xx[0, who] = xx[who, 0] = by_mechanic.sum(1)
        xx[steps, steps] = np.diag(by_mechanic.sum(0))
        xx[who, who] = np.diag(by_mechanic.sum(1))
        xx[who, steps] = by_mechanic
        xx[steps, who] = by_mechanic.T
        if seen.repetition is not None:
            doublings = np.log2(seen.repetition)
            u[:, -1] = k * doublings
            xx[-1, 0] = u[:, -1].sum()
            xx[-1, steps] = timed.T @ doublings
            xx[-1, who] = np.bincount(seen.mechanic, u[:, -1], people)
            xx[-1, -1] = (k * doublings**2).sum()
            xx[:-1, -1] = xx[-1, :-1]
        counts = np.unique(k[k > 0])
        groups: list[Any] = [slice(None)] if (k == k[:1]).all() else [k == c for c in counts]
        uu = np.array([u[g].T @ u[g] for g in groups]).reshape(-1, p, p)
        return cls(seen, timed, u, counts.astype(float), groups[: len(counts)], xx, uu[: len(counts)])

    def sums(self, log_ratio: Array, extra: Array | None = None) -> Sums:
        """The sums with these times, (jobs, steps), and the variance of those that were filled in."""
        seen, timed, u = self.seen, self.timed, self.u
        y = np.where(timed, log_ratio, 0.0)
        spare = np.zeros_like(y) if extra is None else np.where(timed, extra, 0.0)
        total, spare_total = y.sum(1), spare.sum(1)
        by_mechanic = np.zeros((seen.mechanics, timed.shape[1]))
        for m in range(seen.mechanics):
            by_mechanic[m] = y[seen.mechanic == m].sum(0)
        xy = np.concatenate([[total.sum()], by_mechanic.sum(0), by_mechanic.sum(1)])
        if seen.repetition is not None:
            xy = np.append(xy, np.log2(seen.repetition) @ total)
        return Sums(
            steps=timed.shape[1],
            mechanics=seen.mechanics,
            counts=self.counts,
            jobs=np.array([len(total[g]) for g in self.groups], float),
            xx=self.xx,
            xy=xy,
            learning=seen.repetition is not None,
            yy=float((y**2).sum() + spare.sum()),
            uu=self.uu,
            uy=np.array([u[g].T @ total[g] for g in self.groups]).reshape(-1, u.shape[1]),
            squares=np.array([(total[g] ** 2).sum() + spare_total[g].sum() for g in self.groups]),
        )


@dataclass(frozen=True)
class Solution:
    """What is found for each of n sets of spreads."""

    log_likelihood: Array
    """(n,)"""
    beta: Array
    """(n, p)"""
    precision: Array
    """(n, p, p) C, whose inverse is the covariance of beta."""


def solve(sums: Sums, spreads: Array, book_off: float = BOOK_OFF) -> Solution:
    """Solve the mixed-model equations.

    Args:
        spreads: (n, 4) standard deviations, in the order of `SPREADS`.
        book_off: the standard deviation of mu. When it is infinite, nothing is known beforehand of mu or of
            learning, and the likelihood is the restricted one (up to a constant).
    """
    informed = bool(np.isfinite(book_off))
    sigma2, step2, mechanic2, job2 = (spreads**2).T
    k = sums.counts
    rho = job2[:, None] / (sigma2[:, None] + k * job2[:, None])
    prior = np.concatenate(
        [
            np.full((len(spreads), 1), book_off**-2.0),
            np.repeat(1 / step2[:, None], sums.steps, 1),
            np.repeat(1 / mechanic2[:, None], sums.mechanics, 1),
            np.full((len(spreads), int(sums.learning)), LEARNING**-2.0 if informed else 0.0),
        ],
        axis=1,
    )
    before = prior_mean(spreads) if informed else np.zeros(len(spreads))
    p = prior.shape[1]
    c = (sums.xx - np.tensordot(rho, sums.uu, 1)) / sigma2[:, None, None]
    c[:, np.arange(p), np.arange(p)] += prior
    r = (sums.xy - rho @ sums.uy) / sigma2[:, None]
    r[:, 0] += prior[:, 0] * before
    usual = USUAL_LEARNING if sums.learning and informed else 0.0
    r[:, -1] += prior[:, -1] * usual
    factor = np.linalg.cholesky(c)
    half = np.linalg.solve(factor, r[:, :, None])
    beta = np.linalg.solve(factor.swapaxes(1, 2), half)[:, :, 0]
    log_det_c = 2 * np.log(np.diagonal(factor, axis1=1, axis2=2)).sum(1)
    log_det_v = (sums.jobs * k).sum() * np.log(sigma2) + np.log1p(
        k * job2[:, None] / sigma2[:, None]
    ) @ sums.jobs
    flat = prior == 0.0  # its determinant is a constant, and left out
    log_det_d = -np.log(np.where(flat, 1.0, prior)).sum(1)
    misfit = (sums.yy - rho @ sums.squares) / sigma2 - (half[:, :, 0] ** 2).sum(1)
    misfit += prior[:, 0] * before**2 + prior[:, -1] * usual**2
    return Solution(-0.5 * (log_det_v + log_det_d + log_det_c + misfit), beta, c)


def log_posterior(sums: Sums, log_spreads: Array, informed: bool = True) -> Array:
    """The log posterior of the logs of the spreads, (n, 4) -> (n,).

    Without the priors (`informed` false) it is REML.
    """
    size = max(1, int(2e7 // sums.xx.size))
    parts = [log_spreads[i : i + size] for i in range(0, len(log_spreads), size)]
    if not informed:
        return np.concatenate([solve(sums, np.exp(x), np.inf).log_likelihood for x in parts])
    found = np.concatenate([solve(sums, np.exp(x)).log_likelihood for x in parts])
    away = (log_spreads - np.log(TYPICAL_SPREADS)) / SPREAD_OF_SPREADS
    return found - 0.5 * (away**2).sum(1)  # type: ignore[no-any-return]
