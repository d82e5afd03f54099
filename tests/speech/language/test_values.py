"""Spoken numbers, checked against num2words, and units against pint."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from companion.procedure.unit_table import MEASURED
from companion.speech.language.values import misheard, parse_duration_words, parse_reading


def whole(said: str) -> str | None:
    """The number that is said, when a voltage is wanted."""
    reading = parse_reading(said, "V")
    return reading[0] if reading else None


@given(st.integers(min_value=0, max_value=99_999))
def test_whole_numbers_are_read_as_num2words_says_them(number: int) -> None:
    assert whole(num2words(number)) == str(number)
    assert whole(str(number)) == str(number)


@given(st.integers(min_value=0, max_value=9_999), st.integers(min_value=1, max_value=3), st.booleans())
def test_decimals_are_read_as_num2words_says_them(digits: int, places: int, below: bool) -> None:
    value = f"{digits / 10**places:.{places}f}"
    plain = value.rstrip("0").rstrip(".")
    said = num2words(value)  # it drops the minus of what lies between -1 and 0
    assert whole(f"minus {said}" if below else said) == ("-" if below and digits else "") + plain


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("twelve point six volts", "12.6", "V"),
        ("zero point four millimetres", "0.4", "mm"),
        ("point four millimeters", "0.4", "mm"),
        ("ninety newton metres", "90", "N·m"),
        ("90 N·m", "90", "N·m"),
        ("12.6V.", "12.6", "V"),
        ("12,6 V", "12.6", "V"),
        ("twelve point sixty five volts", "12.65", "V"),
        ("one two point six volts", "12.6", "V"),
        ("1-2.6 volts", "12.6", "V"),
        ("1, 2.6V", "12.6", "V"),
        ("1 2 .6 volts", "12.6", "V"),
        ("9 0 newton metres", "90", "N·m"),
        ("twelve and a half volts", "12.5", "V"),
        ("a hundred and ten kilopascals", "110", "kPa"),
        ("minus five degrees", "-5", "°C"),
        ("Seventy-five percent", "75", "%"),
        ("It's oh point two ohms", "0.2", "Ω"),
        ("five litres", "5", "L"),
        ("one point two bar", "1.2", "bar"),
        ("thirty two P S I", "32", "psi"),
        ("thirty-two pounds per square inch", "32", "psi"),
        ("five hundred and five grams", "505", "g"),
        ("forty milliamps", "40", "mA"),
        ("ten amps", "10", "A"),
        ("fifty hertz", "50", "Hz"),
        ("fourteen hundred revs", "1400", "rpm"),
        ("3000 rpm", "3000", "rpm"),
        ("twenty seconds", "20", "s"),
        ("one point five litres a minute", "1.5", "L/min"),
        ("1.5 L/min", "1.5", "L/min"),
        ("five megohms", "5", "MΩ"),
        ("2.2 kΩ", "2.2", "kΩ"),
        ("12 µm", "12", "µm"),
    ],
)
def test_measured_values(said: str, value: str, unit: str) -> None:
    assert parse_reading(said) == (value, unit)


def test_a_bare_number_takes_the_wanted_unit() -> None:
    assert parse_reading("twelve point six", "V") == ("12.6", "V")
    assert parse_reading("twelve point six") is None


def test_degrees_are_of_the_wanted_unit() -> None:
    assert parse_reading("two degrees", "°") == ("2", "°")
    assert parse_reading("two degrees", "°F") == ("2", "°C"), "never taken for Fahrenheit"
    assert parse_reading("two degrees") == ("2", "°C")


def test_another_unit_is_kept_so_that_it_can_be_refused() -> None:
    assert parse_reading("twelve point six millimetres", "V") == ("12.6", "mm")


@pytest.mark.parametrize(
    "said",
    ["", "volts", "twelve point", "point", "twelve volts six", "about that", "twelve point six volts I think",
     "twelve thirteen volts", "six hundred hundred volts", "one point two point three volts"],
)  # fmt: skip
def test_what_is_not_one_value_is_none(said: str) -> None:
    assert parse_reading(said, "V") is None


# pint knows each unit by a name of its own; a unit it cannot read would be one that we made up.
def test_every_unit_is_one_that_pint_knows() -> None:
    registry = pint.UnitRegistry()
    names = {"°C": "degC", "°F": "degF", "N·m": "newton*meter", "Ω": "ohm", "%": "percent", "L": "liter"}
    for unit, spoken in MEASURED.items():
        assert registry.parse_units(names.get(unit, unit))
        assert parse_reading(f"three {spoken[0]}", unit) == ("3", unit)


@pytest.mark.parametrize(
    ("said", "minutes"),
    [
        ("ten minutes", "10"),
        ("for ten minutes", "10"),
        ("half an hour", "30"),
        ("an hour and a half", "90"),
        ("one hour and thirty minutes", "90"),
        ("ninety minutes", "90"),
        ("thirty seconds", "0.5"),
        ("twenty-four hours", "1440"),
        ("10 min", "10"),
        ("a minute", "1"),
    ],
)
def test_lengths_of_time(said: str, minutes: str) -> None:
    assert parse_duration_words(said) == minutes


@pytest.mark.parametrize(
    "said", ["", "ten", "minutes", "zero minutes", "ten blue minutes", "ten minutes or so"]
)
def test_what_is_no_length_of_time_is_none(said: str) -> None:
    assert parse_duration_words(said) is None


def test_teens_and_tens_are_taken_for_each_other() -> None:
    assert misheard("Seventeen millimetres.") == ["seventy millimetres"]
    assert misheard("ninety newton metres") == ["nineteen newton metres"]
    assert misheard("twelve point six volts") == []
    assert misheard("thirteen point fifty") == ["thirty point fifty", "thirteen point fifteen"]


def test_a_word_that_sounds_like_the_wanted_unit_counts_as_it() -> None:
    assert parse_reading("twelve point six newton matrices", "N·m") == ("12.6", "N·m")
    assert parse_reading("twelve point six newton matrices", "V") is None
    assert parse_reading("twelve point six matrices") is None
