"""What is written for the screen, as it is said. Number words are num2words', units' names pint's."""

import re
from datetime import timedelta
from decimal import Decimal
from math import ceil

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from companion.procedure.numbers import number
from companion.procedure.unit_table import UNITS
from companion.procedure.units import Angle, Torque
from companion.procedure.wording import (
    ago,
    angle,
    count,
    duration,
    facts,
    for_the_ear,
    listing,
    plural,
    quantity,
    sentences,
    stages,
    thread,
    torque,
)


def reference(value: object) -> str:
    """num2words' own words, without its hyphens and commas."""
    return num2words(str(value)).replace("-", " ").replace(",", "")


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("M8", "M eight"),
        ("M10x1.25", "M ten by one point two five"),
        ("M12×1.5", "M twelve by one point five"),
        ("25 N·m", "twenty five newton metres"),
        ("25 Nm", "twenty five newton metres"),
        ("1 N·m", "one newton metre"),
        ("12.6 V", "twelve point six volts"),
        ("12V battery", "twelve volt battery"),
        ("0.4 mm", "zero point four millimetres"),
        ("90°", "ninety degrees"),
        ("23 °C", "twenty three degrees Celsius"),
        ("-5 °C", "minus five degrees Celsius"),
        ("3 L", "three litres"),
        ("1:30 h", "one hour thirty minutes"),
        ("at 14:05", "at fourteen oh five"),
        ("E12 six-lobe", "E twelve six-lobe"),
        ("T30", "T thirty"),
        ("13 mm hex", "thirteen millimetre hex"),
        ("a 10-mm socket", "a ten millimetre socket"),
        ("a 10 A fuse", "a ten amp fuse"),
        ("fuse F23", "fuse F twenty three"),
        ("6 x M8 bolts", "six M eight bolts"),
        ("6 x M10x1.25", "six M ten by one point two five"),
        ("9-12 mm", "nine to twelve millimetres"),
        ("9–12 V", "nine to twelve volts"),
        ("±0.5 mm", "plus or minus zero point five millimetres"),
        ("≥ 12.4 V", "at least twelve point four volts"),
        ("50 %", "fifty percent"),
        ("1,250 km", "one thousand two hundred and fifty kilometres"),
        ("3/8 in drive", "three eighths inch drive"),
        ('1/2" drive', "one half inch drive"),
        ("7/16 in hex", "seven sixteenths inch hex"),
        ("a 1 1/16 in spanner", "a one and one sixteenth inch spanner"),
        ("1/4-20 UNC", "one quarter by twenty U N C"),
        ("1 1/16-12", "one and one sixteenth by twelve"),
        ("#10-32 UNF", "number ten by thirty two U N F"),
        ("G1/4", "G one quarter"),
        ("1/8 NPT", "one eighth N P T"),
        ("at most 30 psi", "at most thirty P S I"),
        ("500 g of refrigerant", "five hundred grams of refrigerant"),
        ("52 Hz, 3000 rpm", "fifty two hertz, three thousand revolutions a minute"),
        ("40 mA after 5 s", "forty milliamps after five seconds"),
        ("a 50/50 mix", "a fifty fifty mix"),
        ("5W-30 oil", "five W thirty oil"),
        ("DOT 4", "dot four"),
        ("part 1234567", "part one two three four five six seven"),
        ("the 1st stage", "the first stage"),
        ("2026-11-25", "the twenty fifth of November twenty twenty six"),
        ("20 N·m + 90°", "twenty newton metres plus ninety degrees"),
        ("DANGER: 400 V. Keep off — wait 10 min.", "Danger: four hundred volts. Keep off, wait ten minutes."),
        (
            "Undo six M8 bolts (13 mm hex), 25 N·m.",
            "Undo six M eight bolts, thirteen millimetre hex, twenty five newton metres.",
        ),
        ("Step-by-step, no numbers.", "Step-by-step, no numbers."),
    ],
)  # fmt: skip
def test_the_screen_is_turned_into_words(written: str, said: str) -> None:
    assert for_the_ear(written) == said
    assert for_the_ear(said) == said, "words are left as they are"


@pytest.mark.parametrize("around", ["{}", "{}th", "1/{}", "M{}.5", "{} mm", "{}.{}", "0.{}", "note {} x M8"])
def test_numbers_beyond_all_words_are_read_digit_by_digit(around: str) -> None:
    said = for_the_ear(around.format("9" * 400, "9" * 20))
    assert "nine nine nine nine" in said
    assert not re.search(r"\d", said)


@given(st.text(max_size=60))
def test_no_digit_and_no_sign_is_left_of_any_text(text: str) -> None:
    said = for_the_ear(text)
    assert not re.search(r"\d|[·°%×±≥≤=+&@/µΩ]", said)


_PIECES = st.one_of(
    st.sampled_from(["the bolts", "Undo", "(rear)", "hex", "socket", "and", "—", "M10x1.25", "T30"]),
    st.builds(
        lambda value, unit: f"{value} {unit}",
        st.decimals(min_value=0, max_value=9999, places=2) | st.integers(0, 99_999),
        st.sampled_from(list(UNITS)),
    ),
    st.integers(0, 10**7).map(str),
)  # fmt: skip


@given(st.lists(_PIECES, max_size=8).map(" ".join))
def test_doing_it_twice_changes_nothing(text: str) -> None:
    said = for_the_ear(text)
    assert for_the_ear(said) == said
    assert "  " not in said


@given(st.integers(-99_999, 99_999) | st.decimals(-9999, 9999, places=3, allow_nan=False))
def test_numbers_are_those_of_num2words(value: int | Decimal) -> None:
    assert number(value) == reference(value)


@given(st.integers(0, 99_999), st.integers(1, 99))
def test_a_number_in_a_sentence_keeps_its_value(whole: int, part: int) -> None:
    value = f"{whole}.{part:02d}"
    assert for_the_ear(f"Fill {value} L now.") == f"Fill {reference(value)} litres now."


@pytest.mark.parametrize("bad", ["twelve", "", "1.2.3", "inf", "nan"])
def test_what_is_no_number_is_refused(bad: str) -> None:
    with pytest.raises(ValueError, match="number"):
        number(bad)


PINT_WRITES = {
    "N·m": "N*m", "Nm": "N*m", "N.m": "N*m", "°": "degree", "°C": "degC", "%": "percent", "kΩ": "kohm",
    "Ω": "ohm", "Ah": "A*h", "L/min": "L/min", "MΩ": "Mohm", "°F": "degF",
    **dict.fromkeys(("lbf·ft", "lb·ft", "lbf ft", "lb ft", "ft·lb", "ft lb"), "lbf*ft"),
}  # fmt: skip
PINT_SAYS = {
    "kiloohm": "kilohm", "megaohm": "megohm", "pound_force_per_square_inch": "P S I", "force_pound": "pound",
    "pound_force": "pound", "degree_Fahrenheit": "degree Fahrenheit",
    "meter": "metre", "liter": "litre", "ampere": "amp",
    "degree_Celsius": "degree Celsius",    "revolutions_per_minute": "revolution a minute", " / ": " a ",
}  # fmt: skip


REGISTRY = pint.UnitRegistry()


@pytest.mark.parametrize("symbol", list(UNITS))
def test_a_unit_has_the_name_that_pint_gives_it(symbol: str) -> None:
    said = str(REGISTRY.parse_units(PINT_WRITES.get(symbol, symbol), case_sensitive=True))
    for theirs, ours in PINT_SAYS.items():
        said = said.replace(theirs, ours)
    words = UNITS[symbol].one.replace(" an ", " a ")
    # pint orders the factors of a product by name
    assert sorted(said.replace(" * ", " ").split()) == sorted(words.split())


def test_quantities_with_their_units() -> None:
    assert torque(Torque(25)) == "twenty five newton metres"
    assert torque(Torque(1)) == "one newton metre"
    assert torque(Torque(8.5)) == "eight point five newton metres"
    assert angle(Angle(90)) == "ninety degrees"
    assert quantity(12.6, "V") == "twelve point six volts"
    assert thread("M8x1") == "M eight by one"
    with pytest.raises(ValueError, match="not known"):
        quantity(3, "furlong")


def test_one_torque_value_is_said_at_a_time() -> None:
    assert stages([Torque(25)]) == ["Twenty five newton metres."]
    assert stages([Torque(20), Angle(90)]) == [
        "Stage one: twenty newton metres.", "Stage two: a further ninety degrees.",
    ]  # fmt: skip
    grouped = facts(
        ["six bolts", "twenty newton metres first", "then forty newton metres", "a crosswise order"]
    )
    assert grouped == [
        "Six bolts and twenty newton metres first.", "Then forty newton metres and a crosswise order.",
    ]  # fmt: skip


@given(st.lists(st.sampled_from(["six bolts", "M eight", "nine newton metres", "in a cross"]), max_size=12))
def test_no_saying_holds_more_than_three_facts_and_none_is_lost(stated: list[str]) -> None:
    said = facts(stated)
    for saying in said:
        assert 1 <= len(re.split(r", | and ", saying)) <= 3
        assert saying.count("newton") <= 1
    again = [fact.rstrip(".").lower() for saying in said for fact in re.split(r", | and ", saying)]
    assert again == [fact.lower() for fact in stated]


@pytest.mark.parametrize(
    ("length", "said"),
    [
        (timedelta(0), "under a minute"),
        (timedelta(seconds=59), "under a minute"),
        (timedelta(seconds=60), "one minute"),
        (timedelta(seconds=61), "two minutes"),
        (timedelta(minutes=80), "one hour twenty minutes"),
        (timedelta(hours=2), "two hours"),
        (timedelta(hours=23, minutes=59, seconds=30), "one day"),
        (timedelta(days=1, hours=3), "one day three hours"),
        (timedelta(minutes=-5), "minus five minutes"),
    ],
)
def test_lengths_of_time(length: timedelta, said: str) -> None:
    assert duration(length) == said


def test_short_waits_can_be_told_in_seconds() -> None:
    assert duration(timedelta(seconds=40), seconds=True) == "forty seconds"
    assert duration(timedelta(seconds=0.2), seconds=True) == "one second"
    assert duration(timedelta(minutes=2), seconds=True) == "two minutes"


@given(st.integers(60, 23 * 3600).map(lambda s: timedelta(seconds=s)))
def test_a_wait_is_never_understated(length: timedelta) -> None:
    minutes = ceil(length.total_seconds() / 60)
    hours, rest = divmod(minutes, 60)
    parts = [
        f"{reference(n)} {unit}{'' if n == 1 else 's'}"
        for n, unit in ((hours, "hour"), (rest, "minute"))
        if n
    ]
    assert duration(length) == " ".join(parts)


@pytest.mark.parametrize(
    ("length", "said"),
    [
        (timedelta(seconds=30), "just now"),
        (timedelta(minutes=1, seconds=59), "one minute ago"),
        (timedelta(hours=5, minutes=50), "five hours ago"),
        (timedelta(days=3, hours=5), "three days ago"),
        (timedelta(days=13), "thirteen days ago"),
        (timedelta(days=20), "two weeks ago"),
    ],
)
def test_how_long_ago(length: timedelta, said: str) -> None:
    assert ago(length) == said


def test_lists_and_counts() -> None:
    assert listing(["the battery", "the fuel line", "one hose"]) == "the battery, the fuel line and one hose"
    assert listing(["the battery"]) == "the battery"
    assert listing([]) == "nothing"
    assert count(6, "bolt") == "six bolts"
    assert count(1, "hose") == "one hose"
    assert count(0, "seal") == "no seals"
    assert [plural(one) for one in ("bush", "assembly", "drain plug", "key", "box", "foot")] == [
        "bushes", "assemblies", "drain plugs", "keys", "boxes", "feet",
    ]  # fmt: skip


def test_sentences_end_at_their_marks_not_inside_numbers() -> None:
    assert sentences("Step four. Undo 1.25 of it! Ready? ") == ["Step four.", "Undo 1.25 of it!", "Ready?"]
    assert sentences("  ") == []


@given(st.text(alphabet="ab .!?\"')\n", max_size=40))
def test_no_word_is_lost_between_sentences(text: str) -> None:
    assert re.sub(r"[^ab]", "", "".join(sentences(text))) == re.sub(r"[^ab]", "", text)
