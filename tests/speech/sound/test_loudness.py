"""Levels and exposures against the published values."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.speech.sound import loudness

HOURS = {90: 8, 92: 6, 95: 4, 97: 3, 100: 2, 102: 1.5, 105: 1, 110: 0.5, 115: 0.25}
"""OSHA 29 CFR 1910.95, table G-16."""


@pytest.mark.parametrize(("level", "hours"), HOURS.items())
def test_table_g_16(level, hours):
    assert loudness.osha_by_table(level) == timedelta(hours=hours)


def test_table_and_formula_differ_at_92_dba():
    """The table rounds: 6 h, where T = 8 / 2^((L - 90) / 5) gives 6.06 h (1910.95 appendix A)."""
    assert loudness.osha_by_table(92) == timedelta(hours=6)
    assert loudness.osha_by_formula(92) / timedelta(hours=1) == pytest.approx(6.06, abs=0.005)


@pytest.mark.parametrize("level", [90, 95, 100, 105, 110, 115])
def test_table_and_formula_agree_at_every_five(level):
    assert loudness.osha_by_formula(level) == loudness.osha_by_table(level)


def test_outside_the_table():
    assert loudness.osha_by_table(89.9) is None
    assert loudness.osha_by_table(93) == timedelta(hours=4)
    assert loudness.osha_by_table(115.1) == timedelta()


@pytest.mark.parametrize(
    ("level", "minutes"), [(85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15)]
)
def test_niosh_halves_every_three_decibels(level, minutes):
    """NIOSH recommended exposure limit, 85 dBA and 3 dB (from memory)."""
    assert loudness.niosh(level) == timedelta(minutes=minutes)


def test_eight_hours_at_92_dba_are_132_percent():
    """By the formula; 1910.95 appendix A, D = 100 (C1/T1 + ...)."""
    dose = loudness.dose([(92, timedelta(hours=8))])
    assert dose == pytest.approx(132, abs=0.1)
    assert loudness.time_weighted_average(dose) == pytest.approx(92, abs=0.01)


def test_doses_add_up():
    """Half a day at 95 and half a day at 90: 100 + 50 percent."""
    half = timedelta(hours=4)
    assert loudness.dose([(95, half), (90, half), (70, half)]) == pytest.approx(150)


def test_no_noise_has_no_level():
    with pytest.raises(ValueError, match="no level"):
        loudness.time_weighted_average(0)


def test_a_signal_stands_15_db_over_the_ambient_level_and_never_over_118():
    """ISO 7731: 15 dB over ambient, at least 65 (from memory), at most 118; to be seen too over 100."""
    assert loudness.signal_level(40) == loudness.SignalLevel(65, enough=True, seen_too=False)
    assert loudness.signal_level(70) == loudness.SignalLevel(85, enough=True, seen_too=False)
    assert loudness.signal_level(103) == loudness.SignalLevel(118, enough=True, seen_too=True)
    assert loudness.signal_level(104) == loudness.SignalLevel(118, enough=False, seen_too=True)


@given(st.floats(0, 140))
def test_the_shortest_limit_is_the_one_told(level):
    longest = loudness.longest_exposure(level)
    assert longest <= loudness.niosh(level)
    assert longest <= loudness.osha_by_formula(level)
    by_table = loudness.osha_by_table(level)
    assert by_table is None or longest <= by_table
