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
    assert loudness.osha_dose(92) == pytest.approx(132, abs=0.1)


def test_a_dose_is_the_shift_over_what_may_be_borne():
    """NIOSH publication 98-126: D = 100 (C1/T1 + ...), as OSHA's (from memory)."""
    for level in (85, 88, 94, 100):
        assert loudness.niosh_dose(level) == pytest.approx(100 * timedelta(hours=8) / loudness.niosh(level))


def test_what_is_quieter_than_80_dba_adds_nothing_to_a_dose():
    assert loudness.osha_dose(79.9) == loudness.niosh_dose(79.9) == 0
    assert loudness.osha_dose(80) == pytest.approx(25)


def test_a_signal_stands_15_db_over_the_ambient_level_and_never_over_118():
    """ISO 7731: 15 dB over ambient, at least 65 (from memory), at most 118; to be seen too over 100."""
    assert loudness.signal_level(40) == loudness.SignalLevel(65, enough=True, seen_too=False)
    assert loudness.signal_level(70) == loudness.SignalLevel(85, enough=True, seen_too=False)
    assert loudness.signal_level(103) == loudness.SignalLevel(118, enough=True, seen_too=True)
    assert loudness.signal_level(104) == loudness.SignalLevel(118, enough=False, seen_too=True)


@given(st.floats(0, 140))
def test_of_two_figures_of_osha_the_shorter_is_told(level):
    by_table, told = loudness.osha_by_table(level), loudness.osha(level)
    assert (told is None) == (by_table is None)
    if told is not None:
        assert told == min(by_table, loudness.osha_by_formula(level))
