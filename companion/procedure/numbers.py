"""Numbers in words, by num2words, as a voice says them best: no hyphens, no commas."""

from decimal import Decimal, InvalidOperation
from functools import cache

_LONGEST = 5
"""A bare run of more digits than this is a part number, read digit by digit."""
SAYABLE = 15
"""A number with more digits is read digit by digit: nobody follows a longer one, and some have no words."""

_FRACTIONS = {
    2: "half",
    3: "third",
    4: "quarter",
    8: "eighth",
    16: "sixteenth",
    32: "thirty second",
    64: "sixty fourth",
}


def _plain(words: str) -> str:
    return words.replace("-", " ").replace(",", "")


def number(value: int | float | Decimal | str) -> str:
    """Such as "twenty five", "one point two five", "minus five"; no zeros at the end of a fraction.

    Raises:
        ValueError: no number, or not a finite one.
    """
    from num2words import num2words

    written = str(value)
    try:
        exact = Decimal(written)
    except InvalidOperation as error:
        raise ValueError(f"{value!r} is not a number; write it in digits like 1.25") from error
    # "1e999999" is short to write, and would take a day to say.
    if not exact.is_finite() or abs(exact.adjusted()) > len(written) + 400:
        raise ValueError(f"{value!r} cannot be said; give a finite number")
    plain = format(exact, "f")
    return _plain(num2words(plain)) if len(plain) <= SAYABLE else _one_by_one(plain)


def _one_by_one(written: str) -> str:
    signs = {"-": "minus", ".": "point"}
    return " ".join(signs.get(sign) or _digit(sign) for sign in written)


@cache
def _digit(written: str) -> str:
    return number(int(written))


def digits(text: str) -> str:
    """A run of digits as it is read: a number, or digit by digit when it is long or starts with zero."""
    if len(text) > _LONGEST or (len(text) > 1 and text.startswith("0")):
        return _one_by_one(text)
    return number(int(text))


def ordinal(value: int) -> str:
    """Such as "first", "twenty first"; of at most `SAYABLE` digits."""
    from num2words import num2words

    return _plain(num2words(value, to="ordinal"))


def year(value: int) -> str:
    """Such as "twenty twenty six"."""
    from num2words import num2words

    return _plain(num2words(value, to="year"))


def fraction(above: int, below: int) -> str:
    """Such as "one half", "three eighths"; a share such as 50/50 is "fifty fifty"."""
    if below not in _FRACTIONS or above >= below:
        return f"{number(above)} {number(below)}"
    plural = "halves" if below == 2 else _FRACTIONS[below] + "s"
    return f"{number(above)} {_FRACTIONS[below] if above == 1 else plural}"
