"""The mixed model against statsmodels on the same data, and against integration where some are censored."""

import warnings

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from numpy.typing import NDArray
from scipy.stats import multivariate_normal, norm

from companion.labour.model.mixed_model import TYPICAL_SPREADS, Sums, log_posterior, solve
from companion.labour.model.most_likely import climb, most_likely
from companion.labour.model.observations import Observations, repetitions

Array = NDArray[np.float64]


def invented(
    seed: int, jobs: int = 40, steps: int = 15, people: int = 5, missing: float = 0.1
) -> Observations:
    rng = np.random.default_rng(seed)
    mechanic = rng.integers(0, people, jobs)
    y = 0.1 + rng.normal(0, 0.3, steps) + rng.normal(0, 0.2, people)[mechanic][:, None]
    y = y + rng.normal(0, 0.2, jobs)[:, None] + rng.normal(0, 0.35, (jobs, steps))
    y[rng.random(y.shape) < missing] = np.nan
    return Observations(y, np.zeros(y.shape, bool), mechanic, people)


def reml(seen: Observations) -> Array:
    sums = Sums.of(seen)
    top, _ = climb(lambda x: log_posterior(sums, x, informed=False), np.log(TYPICAL_SPREADS))
    return np.exp(top)


@pytest.mark.parametrize("seed", [1, 2])
def test_variance_components_and_effects_are_those_of_statsmodels(seed: int) -> None:
    seen = invented(seed)
    job, step = np.nonzero(seen.timed)
    frame = pd.DataFrame(
        {"y": seen.log_ratio[job, step], "job": job, "step": step, "person": seen.mechanic[job], "one": 1}
    )
    parts = {"a_step": "0 + C(step)", "b_person": "0 + C(person)", "c_job": "0 + C(job)"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = smf.mixedlm("y ~ 1", frame, groups="one", re_formula="0", vc_formula=parts)
        theirs = model.fit(reml=True, method="powell")  # the default method stops short on some of these
    assert theirs.converged
    ours = reml(seen)
    expected = [theirs.scale**0.5, *np.sqrt(theirs.vcomp)]
    assert ours == pytest.approx(expected, rel=2e-3)
    beta = solve(Sums.of(seen), ours[None], np.inf).beta[0]
    assert beta[0] == pytest.approx(theirs.fe_params.iloc[0], abs=2e-3)
    effects = theirs.random_effects[1]
    assert beta[1:16] == pytest.approx(
        effects[[f"a_step[C(step)[{n}]]" for n in range(15)]].to_numpy(), abs=4e-3
    )
    people = effects[[f"b_person[C(person)[{n}]]" for n in range(5)]].to_numpy()
    assert beta[16:] == pytest.approx(people, abs=4e-3)


def test_the_likelihood_is_that_of_the_whole_covariance_matrix() -> None:
    seen = invented(3, jobs=6, steps=4, people=2, missing=0.2)
    spreads = np.array([0.3, 0.4, 0.15, 0.25])
    job, step = np.nonzero(seen.timed)
    person = seen.mechanic[job]
    same = [np.equal.outer(x, x) for x in (step, person, job)]
    v = (
        sum(m * s**2 for m, s in zip(same, spreads[1:], strict=True))
        + 0.35**2
        + np.eye(len(job)) * spreads[0] ** 2
    )
    before = np.full(len(job), -(0.3**2 + 0.4**2) / 2)  # what differs from step to step averages to the book
    whole = multivariate_normal(before, v).logpdf(seen.log_ratio[job, step])
    constant = 0.5 * len(job) * np.log(2 * np.pi)
    assert solve(Sums.of(seen), spreads[None]).log_likelihood[0] == pytest.approx(whole + constant)


def test_learning_is_a_slope_like_that_of_statsmodels() -> None:
    """With nothing known before of it, the slope on log2 of the repetition is that of the fixed effect."""
    plain = invented(7, jobs=60, people=3)
    repetition = repetitions(plain.mechanic, np.arange(60))
    y = plain.log_ratio + np.log(0.9) * np.log2(repetition)[:, None]
    seen = Observations(y, plain.censored, plain.mechanic, 3, repetition)
    job, step = np.nonzero(seen.timed)
    frame = pd.DataFrame(
        {"y": y[job, step], "job": job, "step": step, "person": seen.mechanic[job], "one": 1,
         "doublings": np.log2(repetition[job])}
    )  # fmt: skip
    parts = {"a_step": "0 + C(step)", "b_person": "0 + C(person)", "c_job": "0 + C(job)"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = smf.mixedlm("y ~ 1 + doublings", frame, groups="one", re_formula="0", vc_formula=parts)
        theirs = model.fit(reml=True, method="powell")
    ours = reml(seen)
    assert ours == pytest.approx([theirs.scale**0.5, *np.sqrt(theirs.vcomp)], rel=1e-2)
    solved = solve(Sums.of(seen), ours[None], np.inf)
    assert solved.beta[0, -1] == pytest.approx(theirs.fe_params["doublings"], abs=1e-3)
    error = np.linalg.inv(solved.precision[0])[-1, -1] ** 0.5
    assert error == pytest.approx(theirs.bse_fe["doublings"], rel=0.02)


def test_repetitions_are_counted_by_mechanic_and_date() -> None:
    mechanic, number = np.array([1, 0, 1, 1, 0]), np.array([9, 4, 2, 30, 7])
    assert repetitions(mechanic, number).tolist() == [2, 1, 1, 3, 2]


def test_sums_do_not_care_in_what_order_the_jobs_come() -> None:
    seen = invented(4)
    order = np.random.default_rng(0).permutation(len(seen.mechanic))
    other = Observations(seen.log_ratio[order], seen.censored[order], seen.mechanic[order], seen.mechanics)
    assert reml(other) == pytest.approx(reml(seen), rel=1e-6)


def test_a_step_that_is_always_cut_short_is_longer_than_what_was_seen() -> None:
    seen = invented(5, jobs=30, steps=8, missing=0.0)
    log_ratio, censored = seen.log_ratio.copy(), seen.censored.copy()
    censored[:, 0] = log_ratio[:, 0] > np.quantile(log_ratio[:, 0], 0.5)
    log_ratio[censored] = np.quantile(log_ratio[:, 0], 0.5)
    cut = Observations(log_ratio, censored, seen.mechanic, seen.mechanics)
    naive = Observations(log_ratio, np.zeros_like(censored), seen.mechanic, seen.mechanics)

    def first_step(of: Observations) -> float:
        found = most_likely(of)
        beta = solve(found.sums, np.exp(found.top)[None]).beta[0]
        return float(beta[0] + beta[1])

    true = first_step(seen)
    assert abs(first_step(cut) - true) < 0.5 * abs(first_step(naive) - true)
    assert first_step(cut) > first_step(naive)


def test_censored_times_against_exact_integration() -> None:
    """One step, one mechanic, spreads held: the mean that the filled-in times settle on is where the exact
    censored likelihood (each job has one time, so they are independent) is highest."""
    rng = np.random.default_rng(6)
    y = rng.normal(0.2, 0.4, 60)
    limit = 0.35
    censored = y > limit
    y = np.where(censored, limit, y)
    sigma, job = 0.3, 0.26457513  # together 0.4
    grid = np.linspace(-0.3, 0.8, 4001)[:, None]
    density = np.where(censored, norm.logsf(y, grid, 0.4), norm.logpdf(y, grid, 0.4)).sum(1)
    before = -(sigma**2 + 0.1**2) / 2
    density += norm.logpdf(grid[:, 0], before, np.sqrt(0.35**2 + 0.1**2 + 0.05**2))
    exact = float(grid[np.argmax(density), 0])

    from companion.labour.model.most_likely import _expected

    spreads = np.array([sigma, 0.1, 0.05, job])
    seen = Observations(y[:, None], censored[:, None], np.zeros(60, np.int64), 1)
    filled = seen
    for _ in range(300):
        sums = Sums.of(filled)
        values, _ = _expected(seen, filled, sums, spreads, seen.censored)
        log_ratio = seen.log_ratio.copy()
        log_ratio[seen.censored] = values
        filled = Observations(log_ratio, seen.censored, seen.mechanic, 1)
    beta = solve(Sums.of(filled), spreads[None]).beta[0]
    assert beta.sum() == pytest.approx(exact, abs=0.02)
