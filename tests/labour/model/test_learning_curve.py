"""Learning curves: the published tables, the fit, and not seeing learning where there is none."""

import math

import numpy as np
import pytest
from scipy import stats

from companion.errors import LabourError
from companion.labour.model.learning import LearningCurve, LearningModel, fit_learning, learners, t_quantile

WRIGHT = LearningModel.CUMULATIVE_AVERAGE


# Unit factors and totals of the unit model, to four places as tables give them (worked out anew from
# T_n = n^(log2 r); .634 for 90 % at 20 and .583 for 85 % at 10 also in a published table, coursepaper.com,
# solutions to chapter 7S "Learning curves", table 7S.1).
@pytest.mark.parametrize(
    ("rate", "n", "unit", "total"),
    [
        (0.80, 2, 0.8000, 1.8000),
        (0.80, 5, 0.5956, 3.7377),
        (0.80, 10, 0.4765, 6.3154),
        (0.80, 20, 0.3812, 10.4849),
        (0.90, 2, 0.9000, 1.9000),
        (0.90, 5, 0.7830, 4.3392),
        (0.90, 10, 0.7047, 7.9945),
        (0.90, 20, 0.6342, 14.6078),
        (0.85, 10, 0.583, 7.116),
    ],
)
def test_the_unit_model_gives_the_table(rate: float, n: int, unit: float, total: float) -> None:
    curve = LearningCurve(1.0, rate)
    places = 4 if rate != 0.85 else 3
    assert round(curve.time(n), places) == unit
    assert round(curve.total(n), places) == total


def test_the_cumulative_average_model_is_another_curve() -> None:
    curve = LearningCurve(100.0, 0.8, WRIGHT)
    assert curve.total(2) / 2 == pytest.approx(80)
    assert curve.total(4) / 4 == pytest.approx(64)
    assert curve.time(2) == pytest.approx(60), "two together take 160, so the second takes 60"
    assert sum(curve.time(n) for n in range(1, 21)) == pytest.approx(curve.total(20))


@pytest.mark.parametrize("model", list(LearningModel))
@pytest.mark.parametrize("rate", [0.75, 0.9, 1.0])
def test_a_curve_without_noise_is_found_again(model: LearningModel, rate: float) -> None:
    fits = fit_learning(
        [[LearningCurve(first, rate, model).time(n) for n in range(1, 13)] for first in (200.0, 800.0)], model
    )
    assert fits.curve.rate == pytest.approx(rate, abs=1e-6)
    assert fits.curve.first == pytest.approx(400, rel=1e-5), "the geometric mean of the two mechanics"
    assert fits.curve.model is model


def test_the_unit_slope_and_its_range_are_those_of_a_regression() -> None:
    random = np.random.default_rng(3)
    n = np.arange(1, 16)
    times = 300 * n ** math.log2(0.85) * np.exp(random.normal(0, 0.2, 15))
    fitted = fit_learning([times])
    told = stats.linregress(np.log(n), np.log(times))
    assert fitted.curve.rate == pytest.approx(2**told.slope)
    margin = stats.t.ppf(0.95, 13) * told.stderr
    assert (fitted.low, fitted.high) == pytest.approx(
        (2 ** (told.slope - margin), 2 ** (told.slope + margin)), rel=1e-3
    )
    one_sided = stats.linregress(np.log(n), np.log(times), alternative="less").pvalue
    assert fitted.p == pytest.approx(one_sided, abs=0.01)


def test_clear_learning_is_shown_and_named() -> None:
    random = np.random.default_rng(5)
    series = [
        [LearningCurve(level, 0.8).time(n) * math.exp(random.normal(0, 0.15)) for n in range(1, 13)]
        for level in (300.0, 420.0)
    ]
    fitted = fit_learning(series)
    assert fitted.shown()
    assert fitted.low < 0.8 < fitted.high
    assert str(fitted).startswith("81 % unit (Crawford) learning curve")


def test_without_learning_false_claims_are_as_rare_as_stated() -> None:
    # 400 studies of noise at the 5 % level: 20 false claims are expected, over 37 about once in 7000.
    random = np.random.default_rng(11)
    claims = sum(fit_learning([np.exp(random.normal(0, 0.4, 10))], seed=k).shown() for k in range(400))
    assert 5 <= claims <= 37


def test_a_slow_and_a_fast_mechanic_are_not_mistaken_for_learning() -> None:
    random = np.random.default_rng(2)
    slow, fast = (level * np.exp(random.normal(0, 0.1, 8)) for level in (600, 200))
    assert not fit_learning([slow, fast]).shown()


def test_among_many_steps_only_strong_claims_stand() -> None:
    assert learners([0.04, 0.001, 0.03]) == (False, True, False)
    assert learners([0.01, 0.001, 0.03]) == (True, True, True)
    assert learners([]) == ()


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 5, 8, 20, 100])
def test_the_t_quantile_agrees_with_scipy(degrees: int) -> None:
    assert t_quantile(0.95, degrees) == pytest.approx(stats.t.ppf(0.95, degrees), rel=0.01)


def test_too_few_or_impossible_times_are_refused() -> None:
    with pytest.raises(LabourError, match="too few"):
        fit_learning([[5.0, 4.0], [6.0]])
    with pytest.raises(LabourError, match="not positive"):
        fit_learning([[5.0, 4.0, 0.0, 3.0, 3.0]])
