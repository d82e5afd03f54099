"""In which order to go round: worked out from where the bolts sit, and told in words of place.

From the centre outwards, and crosswise: each bolt is followed by the one farthest from it that is as near to
the centre, and each such pair by the one farthest from all that are tight. Common practice, no source.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, hypot, pi, sin

from companion.procedure.numbers import ordinal

MOST = 60
_CIRCLE = re.compile(r"circle of (\d+)")
_GRID = re.compile(r"grid (\d+) by (\d+)")
_HOURS = ("twelve", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven")
_SAME = 1e-6
_QUARTER = 0.25
"""Of an hour: nearer to the whole one than to the half."""


@dataclass(frozen=True)
class Place:
    """Where one bolt sits: across and along, in any measure, and what that is called."""

    across: float
    """More is further right."""
    along: float
    """More is further forward, or up."""
    words: str


@dataclass(frozen=True)
class Layout:
    """Where all the bolts of one joint sit."""

    text: str
    places: tuple[Place, ...]

    @classmethod
    def parse(cls, text: str) -> "Layout":
        """Read "circle of 5", or "grid 2 by 5": two across, five from front to rear.

        Raises:
            ValueError: anything else, or fewer than three or more than sixty bolts.
        """
        text = " ".join(text.split())
        if match := _CIRCLE.fullmatch(text):
            places = _circle(_number(match[1], text))
        elif match := _GRID.fullmatch(text):
            across, along = int(match[1][:3]), int(match[2][:3])
            _number(str(across * along), text)
            places = _grid(across, along)
        else:
            raise ValueError(f"{repr(text)[:40]} is no layout; write it like 'circle of 5' or 'grid 2 by 5'")
        return cls(text, places)

    def __str__(self) -> str:
        return self.text

    @property
    def order(self) -> tuple[Place, ...]:
        """The places in the order of tightening."""
        return tuple(self.places[n] for n in tightening_order([(p.across, p.along) for p in self.places]))

    @property
    def sequence(self) -> str:
        """The order in words: "middle left, middle right, ..."."""
        return ", ".join(place.words for place in self.order)


def tightening_order(positions: Sequence[tuple[float, float]]) -> list[int]:
    """The positions by number, from the centre outwards and crosswise."""
    left = list(range(len(positions)))
    centre = [sum(axis) / len(positions) for axis in zip(*positions, strict=True)]
    done: list[int] = []
    while left:
        near = min(_apart(positions[n], centre) for n in left)
        ring = [n for n in left if _apart(positions[n], centre) < near + _SAME]
        while ring:
            first = max(ring, key=lambda n: _clear(positions, n, done))
            _take(first, ring, left, done)
            if ring:
                _take(
                    max(ring, key=lambda n: _round(_apart(positions[n], positions[first]))), ring, left, done
                )
    return done


def _take(number: int, ring: list[int], left: list[int], done: list[int]) -> None:
    ring.remove(number)
    left.remove(number)
    done.append(number)


def _clear(positions: Sequence[tuple[float, float]], number: int, done: Sequence[int]) -> tuple[float, float]:
    """How far it is from all that are tight, then from the last of them."""
    apart = [_round(_apart(positions[number], positions[other])) for other in done]
    return (min(apart), apart[-1]) if apart else (0, 0)


def _apart(one: Sequence[float], other: Sequence[float]) -> float:
    return hypot(one[0] - other[0], one[1] - other[1])


def _round(length: float) -> float:
    return round(length, 6)


def _number(digits: str, text: str) -> int:
    number = int(digits[:6])
    if not 3 <= number <= MOST:
        raise ValueError(f"{repr(text)[:40]} is of {number} bolts; a layout is of 3 to {MOST}")
    return number


def _circle(number: int) -> tuple[Place, ...]:
    """Clockwise from the top; each by the hour where it stands, or the hours it stands between."""
    turns = [n / number for n in range(number)]
    return tuple(Place(sin(2 * pi * turn), cos(2 * pi * turn), _hour(turn * 12)) for turn in turns)


def _hour(hours: float) -> str:
    if abs(hours - round(hours)) <= _QUARTER:
        return f"{_HOURS[round(hours) % 12]} o'clock"
    return f"half past {_HOURS[int(hours) % 12]}"


def _grid(across: int, along: int) -> tuple[Place, ...]:
    columns, rows = _names(across, "left", "right"), _names(along, "front", "rear")
    places = []
    for row in range(along):
        for column in range(across):
            places.append(Place(column, along - 1 - row, _called(rows[row], columns[column])))
    return tuple(places)


def _called(row: str, column: str) -> str:
    """ "Front left", "left, second from the front" without its comma; the comma is for the list."""
    if row == column == "middle":
        return "centre"
    if "from" in column:
        return f"{column} in the {row} row" if row else column
    return " ".join(word for word in ((column, row) if "from" in row else (row, column)) if word)


def _names(number: int, first: str, last: str) -> list[str]:
    """Names in a row: "front", "second from the front", "middle", "second from the rear", "rear"."""
    if number == 1:
        return [""]
    names = []
    for n in range(number):
        near, end = (n, first) if 2 * n < number else (number - 1 - n, last)
        middle = number % 2 == 1 and n == number // 2
        names.append("middle" if middle else end if near == 0 else f"{ordinal(near + 1)} from the {end}")
    return names
