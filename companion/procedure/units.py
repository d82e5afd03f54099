"""Quantities that carry their unit, parsed from the words a procedure uses.

Torques in other units are refused with their value in N·m (`fasteners/convert.py`).
"""

import math
import re
from dataclasses import dataclass
from datetime import timedelta

from companion.procedure.fasteners.convert import newton_metres
from companion.procedure.unit_table import SECONDS, UNITS, Unit

_NUMBER = r"(\d+(?:\.\d+)?)"


def _written(unit: Unit) -> re.Pattern[str]:
    """A number in a unit, as a procedure may write it."""
    ways = "|".join(map(re.escape, (*unit.symbols, unit.one, unit.many)))
    return re.compile(rf"{_NUMBER}\s*(?:{ways})")


_TORQUE = _written(UNITS["N·m"])
_ANGLE = _written(UNITS["°"])
_PIECE = re.compile(rf"\s*{_NUMBER}\s*({'|'.join(SECONDS)})\b\s*")
_ISO = re.compile(
    r"P(?!$)(?:(?P<week>\d+)W)?(?:(?P<d>\d+)D)?(?:T(?!$)(?:(?P<h>\d+)H)?(?:(?P<min>\d+)M)?(?:(?P<s>\d+(?:\.\d+)?)S)?)?"
)


MOST_NEWTON_METRES, MOST_DEGREES = 10_000, 1080
"""Beyond any fastener of a vehicle. Chosen here, no source."""


def _within(number: str, most: float, unit: str) -> float:
    value = float(number)
    if value > most:
        raise ValueError(f"is more than {most} {unit}, beyond any fastener; check the number")
    return value


@dataclass(frozen=True, order=True)
class Torque:
    """A tightening torque."""

    newton_metres: float

    @classmethod
    def parse(cls, text: str) -> "Torque":
        """Read "25 N·m" (also "25 Nm").

        Raises:
            ValueError: any other unit; the message gives the value in N·m where it can.
        """
        if match := _TORQUE.fullmatch(text.strip()):
            return cls(_within(match[1], MOST_NEWTON_METRES, "N·m"))
        if (value := newton_metres(text)) is not None:
            raise ValueError(f"torque {text!r} is not in N·m; write '{value:.1f} N·m'")
        raise ValueError(f"torque {text!r} is not in N·m; write it like '25 N·m'")

    def __str__(self) -> str:
        return f"{self.newton_metres:g} N·m"


@dataclass(frozen=True, order=True)
class Angle:
    """A further turn after the torque."""

    degrees: float

    @classmethod
    def parse(cls, text: str) -> "Angle":
        """Read "90°" (also "90 deg", "90 degrees").

        Raises:
            ValueError: anything else.
        """
        if match := _ANGLE.fullmatch(text.strip()):
            return cls(_within(match[1], MOST_DEGREES, "°"))
        raise ValueError(f"angle {text!r} is not understood; write it like '90°'")

    def __str__(self) -> str:
        return f"{self.degrees:g}°"


LONGEST = timedelta(days=3660)
"""Ten years; nothing about a job waits longer."""


def _length(seconds: float, text: str) -> timedelta:
    if not seconds <= LONGEST.total_seconds():
        shown = text if len(text) <= 30 else f"{text[:29]}…"
        raise ValueError(f"duration {shown!r} is longer than {LONGEST.days} days; check the number")
    return timedelta(seconds=seconds)


def parse_duration(text: str) -> timedelta:
    """Read "90 s", "4 min", "1 h 30 min", "2 days", or ISO 8601 such as "PT1H30M".

    Calendar months and years are refused: they are not a fixed length (ISO 8601).

    Raises:
        ValueError: not a duration, one without a fixed length, or one beyond `LONGEST`.
    """
    stripped = text.strip()
    if stripped.startswith("P"):
        match = _ISO.fullmatch(stripped)
        if not match:
            raise ValueError(
                f"duration {text!r} is not usable; months and years have no fixed length, write days or hours"
            )
        parts = {unit: float(value) for unit, value in match.groupdict().items() if value}
        return _length(sum(SECONDS[unit] * value for unit, value in parts.items()), text)
    position, seconds = 0, 0.0
    while position < len(stripped):
        match = _PIECE.match(stripped, position)
        if not match:
            raise ValueError(f"duration {text!r} is not understood; write it like '4 min' or '1 h 30 min'")
        seconds += float(match[1]) * SECONDS[match[2]]
        position = match.end()
    if not stripped:
        raise ValueError("duration is empty; write it like '4 min' or '1 h 30 min'")
    return _length(seconds, text)


def short(length: timedelta) -> str:
    """A length of time for the screen, rounded up to what matters: "4 years", "2 days 3 h", "20 s"."""
    # Two clocks are never read at quite the same moment: ten seconds and a hair are ten seconds.
    seconds = max(0, math.ceil(round(length.total_seconds(), 2)))
    if seconds < 60:
        return f"{seconds} s"
    minutes = math.ceil(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 24:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    # Two clocks do not go at quite the same rate: from a day on, a minute over the hour is the hour.
    days, hours = divmod(hours + (minutes > 1), 24)
    if days < 60:
        return f"{_many(days, 'day')} {hours} h" if hours else _many(days, "day")
    days += hours > 0
    if days < 365:
        return _many(days, "day")
    years, months = divmod(math.ceil(days * 12 / 365), 12)
    return f"{_many(years, 'year')} {_many(months, 'month')}" if months else _many(years, "year")


def _many(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
