"""Standard times, and how many cycles to time."""

from datetime import timedelta

import pytest

from companion.errors import LabourError
from companion.labour.answers.time_study import (
    Allowance,
    AllowanceBase,
    cycles_needed,
    normal_time,
    observations_needed,
)

HOUR = timedelta(hours=1)


def test_the_same_allowance_is_more_on_the_workday_than_on_job_time() -> None:
    # NT x (1 + A), and NT / (1 - A): textbook formulas, the figures by hand.
    assert Allowance(0.15).standard(HOUR) == timedelta(minutes=69)
    assert Allowance(0.15, AllowanceBase.WORKDAY).standard(HOUR) / HOUR == pytest.approx(1 / 0.85)


def test_an_allowance_says_what_it_is_a_fraction_of() -> None:
    assert str(Allowance(0.15)) == "15 % of job time"
    assert str(Allowance(0.125, AllowanceBase.WORKDAY)) == "12.5 % of the workday"


@pytest.mark.parametrize("fraction", [-0.1, 1.0, float("nan")])
def test_an_allowance_that_leaves_no_time_for_work_is_refused(fraction: float) -> None:
    with pytest.raises(LabourError, match="give a fraction such as"):
        Allowance(fraction)


def test_normal_time_is_the_mean_times_the_rating() -> None:
    observed = [timedelta(minutes=m) for m in (9, 10, 11)]
    assert normal_time(observed) == timedelta(minutes=10)
    assert normal_time(observed, rating=1.1) == timedelta(minutes=11)
    with pytest.raises(LabourError, match="log at least one job"):
        normal_time([])


@pytest.mark.parametrize(
    ("times", "within", "cycles"),
    [
        # 8.82 before rounding up; the readings from memory of a textbook, the figure worked out again.
        ((7, 6, 7, 7, 6), 0.05, 9),
        # 3.87 before rounding up: transtutors.com, Work measurement, Sample size determination.
        ((8, 7, 8, 9, 7), 0.10, 4),
    ],
)
def test_cycles_at_two_standard_errors(times: tuple[int, ...], within: float, cycles: int) -> None:
    assert cycles_needed(times, within) == cycles
    assert cycles_needed([60.0 * t for t in times], within) == cycles, "the unit does not matter"


def test_observations_at_a_chosen_confidence() -> None:
    # Mean 3.66, s 0.3507, z 1.96, ±5 %: 14.1 before rounding up (published readings, worked out again).
    assert observations_needed((3.5, 3.2, 4.1, 3.6, 3.9)) == 15
    assert observations_needed((3.5, 3.2, 4.1, 3.6, 3.9), confidence=0.99) == 25


def test_readings_without_spread_need_no_more() -> None:
    assert cycles_needed((5, 5, 5)) == 1


def test_readings_that_cannot_be_used_are_refused() -> None:
    with pytest.raises(LabourError, match="at least 2"):
        observations_needed((3.0,))
    with pytest.raises(LabourError, match="not positive"):
        cycles_needed((3.0, 0.0))
