"""The normal distribution and Student's t against SciPy."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from companion.labour.model.normal import hazard, normal_points, normal_sf, t_quantile


@given(st.floats(-8, 35))
def test_tail_and_hazard_are_those_of_scipy(z: float) -> None:
    assert normal_sf(np.array([z]))[0] == pytest.approx(stats.norm.sf(z), rel=1e-10)
    exact = math.exp(stats.norm.logpdf(z) - stats.norm.logsf(z))
    assert hazard(np.array([z]))[0] == pytest.approx(exact, rel=2e-3)


@pytest.mark.parametrize("p", [0.95, 0.975])
@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 5, 8, 20, 100])
def test_the_t_quantile_agrees_with_scipy(degrees: int, p: float) -> None:
    assert t_quantile(p, degrees) == pytest.approx(stats.t.ppf(p, degrees), rel=0.01)


def test_the_points_that_stand_for_a_normal_have_its_mean_and_variance() -> None:
    points = normal_points(48)
    assert points.mean() == pytest.approx(0, abs=1e-12)
    assert points.var() == pytest.approx(1)
    assert np.exp(0.5 * points).mean() == pytest.approx(math.exp(0.125), rel=1e-3), "of a log-normal too"
