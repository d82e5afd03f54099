"""Torques, angles and durations, against pint, the published factor and ISO 8601."""

from datetime import timedelta

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from companion.procedure.units import Angle, Torque, parse_duration, short

units = pint.UnitRegistry()


@given(st.integers(1, 2000))
def test_a_torque_in_pound_feet_is_refused_with_the_value_that_pint_gives(value: int) -> None:
    expected = units.Quantity(value, "lbf * foot").to("newton * meter").magnitude
    with pytest.raises(ValueError, match=r"is not in N·m; write '[\d.]+ N·m'") as caught:
        Torque.parse(f"{value} lbf·ft")
    offered = float(str(caught.value).rpartition("write '")[2].removesuffix(" N·m'"))
    assert offered == pytest.approx(expected, abs=0.051)


@pytest.mark.parametrize("text", ["25 N·m", "25 Nm", "25N·m", " 25 N.m ", "25.0 N m"])
def test_newton_metres_are_read(text: str) -> None:
    assert Torque.parse(text) == Torque(25.0)


@pytest.mark.parametrize("text", ["25", "25 furlongs", "-3 N·m", "N·m", "25 N", "1e3 N·m", "25,5 N·m"])
def test_other_torques_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is not in N·m; write it like '25 N·m'"):
        Torque.parse(text)


@given(st.integers(1, 10_800).map(lambda tenths: tenths / 10))
def test_a_torque_and_an_angle_come_back_from_their_own_words(value: float) -> None:
    assert Torque.parse(str(Torque(value))).newton_metres == pytest.approx(value, rel=1e-5)
    assert Angle.parse(str(Angle(value))).degrees == pytest.approx(value, rel=1e-5)


def test_angles() -> None:
    assert Angle.parse("90°") == Angle.parse("90 deg") == Angle.parse("90 degrees") == Angle(90)
    with pytest.raises(ValueError, match="write it like '90°'"):
        Angle.parse("a quarter")


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("90 s", 90),
        ("4 min", 240),
        ("1 h 30 min", 5400),
        ("2 days", 172_800),
        ("1 week", 604_800),
        ("0.5 h", 1800),
    ],
)
def test_durations_in_words(text: str, seconds: int) -> None:
    assert parse_duration(text) == timedelta(seconds=seconds)


@pytest.mark.parametrize("text", ["PT90M", "PT1H30M", "P1D", "P2W", "P1DT2H3M4S", "PT0.5S", "PT36H"])
def test_iso_8601_durations_are_those_of_an_independent_parser(text: str) -> None:
    assert parse_duration(text) == TypeAdapter(timedelta).validate_python(text)


@pytest.mark.parametrize("text", ["P1M", "P1Y", "P1Y2M", "P1M1D", "P", "PT", "P1H", "PT1D", "P-1D"])
def test_months_years_and_broken_iso_8601_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="months and years have no fixed length"):
        parse_duration(text)


@pytest.mark.parametrize(
    "text", ["1:30", "90", "", "  ", "-5 min", "5 mins later", "4 m in", "2 months", "1 year", "h"]
)
def test_other_durations_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="duration"):
        parse_duration(text)


@given(st.integers(0, 10**7))
def test_any_whole_seconds_are_read_in_words_and_in_iso_8601(seconds: int) -> None:
    hours, rest = divmod(seconds, 3600)
    assert parse_duration(f"{hours} h {rest // 60} min {rest % 60} s") == timedelta(seconds=seconds)
    assert parse_duration(f"PT{hours}H{rest // 60}M{rest % 60}S") == timedelta(seconds=seconds)


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (59, "59 days"),
        (59.5, "59 days 12 h"),
        (60.5, "61 days"),
        (364, "364 days"),
        (365, "1 year"),
        (400, "1 year 2 months"),
        (728.1, "2 years"),
        (1460, "4 years"),
    ],
)
def test_a_long_time_is_told_as_people_tell_it_and_never_understated(days, said):
    assert short(timedelta(days=days)) == said
