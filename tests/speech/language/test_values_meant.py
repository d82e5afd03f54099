"""Which values may have been said: few, in words, and the right one always among them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from companion.speech.language.values import parse_reading
from companion.speech.language.values_meant import MOST, meant


@pytest.mark.parametrize(
    ("written", "unit", "texts"),
    [
        (["nineteen millimetres.", "19 millimetres."], "mm", ["nineteen millimetres", "ninety millimetres"]),
        (["12.6V."], "V", ["twelve point six volts"]),
        (["twelve point six"], "V", ["twelve point six"]),
        (["Seventeen newton mattresses"], "N·m", ["seventeen newton metres", "seventy newton metres"]),
        (["twelve point six millimetres"], "V", ["twelve point six millimetres"]),
        (["-5°C"], "°C", ["minus five degrees celsius"]),
        (["I think so"], "V", []),
        (["remove the nine bolts"], "V", []),
        ([""], "V", []),
        ([], "V", []),
    ],
)
def test_what_was_written_names_what_may_have_been_said(written, unit, texts) -> None:
    assert meant(written, unit) == texts


@pytest.mark.parametrize(
    ("written", "unit", "said"),
    [
        ("furking point eight volts", "V", "thirteen point eight volts"),
        ("eleven four nine degrees", "°C", "eleven point nine degrees"),
        ("twelve boy six volts", "V", "twelve point six volts"),
    ],
)
def test_one_word_that_is_no_number_is_tried_as_each(written: str, unit: str, said: str) -> None:
    assert said in meant([written], unit)


@given(st.integers(0, 9_999), st.integers(0, 2), st.sampled_from(["volts", "bar", "newton metres"]))
def test_each_is_a_value_and_what_was_written_well_comes_first(digits: int, places: int, unit: str) -> None:
    said = f"{num2words(digits / 10**places)} {unit}".replace("-", " ").replace(",", "")
    wanted = {"volts": "V", "bar": "bar", "newton metres": "N·m"}[unit]
    found = meant([said], wanted)
    assert parse_reading(found[0], wanted) == parse_reading(said, wanted)
    assert all(parse_reading(text, wanted) for text in found)
    assert len(set(found)) == len(found) <= MOST
