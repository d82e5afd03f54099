"""How lengths of work, ratios and steps are written, in tables and on pages."""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from companion.harmless import cell


def csv_of(heads: Sequence[str], rows: Iterable[Iterable[object]]) -> str:
    """A table as CSV (RFC 4180). A text that a spreadsheet would take for a formula is disarmed with an
    apostrophe; numbers are left as they are."""
    out = io.StringIO()
    write = csv.writer(out).writerow
    write(heads)
    for row in rows:
        write([cell(value) if isinstance(value, str) else value for value in row])
    return out.getvalue()


def day_words(day: date) -> str:
    """A day for reading: "3 April 2031"."""
    return f"{day.day} {day:%B %Y}"


NO_BOOK = "no book time"
"""Instead of one, where none was logged."""


def minutes(length: timedelta) -> str:
    """A length to a tenth of a minute, without the unit."""
    return f"{length.total_seconds() / 60:.1f}"


def hours(length: timedelta) -> str:
    """A length to a hundredth of an hour, because that is what is billed."""
    return f"{length.total_seconds() / 3600:.2f} h"


def clock(length: timedelta) -> str:
    """A length for reading: minutes to a tenth below ten, whole minutes, or hours."""
    in_minutes = length.total_seconds() / 60
    if in_minutes < 9.95:
        return f"{in_minutes:.1f}\u00a0min"
    return f"{in_minutes:.0f}\u00a0min" if in_minutes < 99.5 else f"{in_minutes / 60:.1f}\u00a0h"


def off(ratio: float) -> str:
    """A ratio as a change, such as "+30 %", for a terminal."""
    change = round(100 * (ratio - 1))
    return f"{change:+d} %" if change else "0 %"


def ratio_words(ratio: float) -> str:
    """A ratio as a change, such as "+30 %" or "−12 %", for a page. Its space does not break."""
    change = round(100 * (ratio - 1))
    sign = "±" if change == 0 else "+" if change > 0 else "−"
    return f"{sign}{abs(change)}\u00a0%"


def step_words(step: str) -> str:
    """The id of a step as words."""
    return step.replace("-", " ")
