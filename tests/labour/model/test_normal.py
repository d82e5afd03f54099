"""Censored times against lifelines, scipy and published values."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter, LogNormalFitter
from lifelines.datasets import load_lung
from scipy.stats import CensoredData, lognorm, norm

from companion.errors import LabourError
from companion.labour.model.normal import censored_lognormal, hazard, kaplan_meier, median_of, normal_sf


def test_lung_as_lifelines_has_it() -> None:
    lung = load_lung()
    times, seen = lung["time"].to_numpy(float), lung["status"].to_numpy() == 1
    mu, sigma, log_likelihood = censored_lognormal(times, seen)
    fitter = LogNormalFitter().fit(times, seen)
    assert (mu, sigma) == pytest.approx((fitter.mu_, fitter.sigma_), abs=2e-3)
    # lifelines' `lung`, computed once: mu 5.6633, sigma 1.0976, log-likelihood -1169.269, median 310
    assert mu == pytest.approx(5.6633, abs=5e-4)
    assert sigma == pytest.approx(1.0976, abs=5e-4)
    assert log_likelihood == pytest.approx(-1169.269, abs=1e-3)
    assert median_of(times, seen) == 310
    at, share = kaplan_meier(times, seen)
    curve = KaplanMeierFitter().fit(times, seen).survival_function_at_times(at).to_numpy()
    assert np.abs(share - curve).max() < 1e-12


def test_against_scipy_on_the_same_censored_data() -> None:
    rng = np.random.default_rng(4)
    whole = np.exp(rng.normal(5, 0.6, 80))
    limit = rng.uniform(60, 400, 80)
    times, seen = np.minimum(whole, limit), whole <= limit
    shape, _, scale = lognorm.fit(CensoredData.right_censored(times, ~seen), floc=0)
    mu, sigma, _ = censored_lognormal(times, seen)
    assert (mu, sigma) == pytest.approx((math.log(scale), shape), rel=2e-3)


def test_the_6_mp_arm_of_the_leukaemia_trial() -> None:
    # Freireich et al. 1963, as in many textbooks (from memory): survival at 6, 7, 10, 13, 16, 22, 23 weeks.
    ends = [6, 6, 6, 7, 10, 13, 16, 22, 23]
    going_on = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
    at, share = kaplan_meier([*ends, *going_on], [True] * len(ends) + [False] * len(going_on))
    assert at.tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert share == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=5e-4)


def test_without_censoring_it_is_the_mean_and_spread_of_the_logs() -> None:
    times = [3.0, 5.0, 8.0, 13.0]
    mu, sigma, _ = censored_lognormal(times, [True] * 4)
    assert mu == pytest.approx(np.log(times).mean())
    assert sigma == pytest.approx(np.log(times).std(), rel=1e-4)


def test_nothing_seen_to_end_is_refused() -> None:
    with pytest.raises(LabourError, match="no time was seen to its end"):
        censored_lognormal([1.0, 2.0], [False, False])
    assert median_of([1.0, 2.0], [False, False]) == math.inf


@given(st.floats(-8, 35))
def test_tail_and_hazard_are_those_of_scipy(z: float) -> None:
    assert normal_sf(np.array([z]))[0] == pytest.approx(norm.sf(z), rel=1e-10)
    assert hazard(np.array([z]))[0] == pytest.approx(math.exp(norm.logpdf(z) - norm.logsf(z)), rel=2e-3)
