"""The shop's working hours, and where a piece of work falls in them."""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from itertools import pairwise
from types import MappingProxyType

from companion.errors import LabourError

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_DAY = timedelta(days=1)
_RANGE = re.compile(r"(\d{1,2}):([0-5]\d)-(\d{1,2}):([0-5]\d)")
_LONGEST_CLOSURE = timedelta(days=62)
_EXAMPLE = "'Mon-Fri 08:00-12:30 13:00-17:00; Sat 08:00-12:00'"

Span = tuple[timedelta, timedelta]
"""From and to, since midnight. A shift that ends on the next day goes past 24 h."""


class Split(StrEnum):
    """Over what a step may be left half done."""

    NEVER = "never"
    BREAKS = "over breaks"
    """Within the day, such as over lunch."""
    NIGHTS = "over nights"
    """Also over the end of the day."""


@dataclass(frozen=True)
class Hours:
    """When people work, in the time of the shop."""

    week: Mapping[int, tuple[Span, ...]]
    """The stretches of work of each weekday (0 is Monday), in order. A day without one is free."""
    closed: frozenset[date] = frozenset()
    """Days on which nobody works."""

    @classmethod
    def parse(cls, text: str, closed: Iterable[date] = ()) -> "Hours":
        """Read hours such as "Mon-Fri 08:00-12:30 13:00-17:00; Sat 08:00-12:00". Commas do for spaces.

        Raises:
            LabourError: they are not written so, stretches overlap, or nobody ever works.
        """
        week: dict[int, tuple[Span, ...]] = {}
        for clause in filter(None, (piece.strip() for piece in text.split(";"))):
            days, *ranges = clause.replace(",", " ").split()
            spans = tuple(_span(one, text) for one in ranges)
            if not spans or any(b[0] < a[1] for a, b in pairwise(spans)):
                raise LabourError(
                    f"working hours {clause!r}: stretches are missing or overlap; write {_EXAMPLE}"
                )
            week.update(dict.fromkeys(_days(days, text), spans))
        if not week:
            raise LabourError(f"working hours {text!r} leave no day to work; write {_EXAMPLE}")
        return cls(MappingProxyType(week), frozenset(closed))

    def stretches(self, start: datetime) -> Iterator[tuple[datetime, datetime]]:
        """The stretches of work that end after `start`, in order, for ever.

        Raises:
            LabourError: the shop stays closed for two months.
        """
        day = start.date() - _DAY
        worked = start
        while True:
            midnight = datetime.combine(day, time(), start.tzinfo)
            for begin, end in () if day in self.closed else self.week.get(day.weekday(), ()):
                if seconds_between(start, midnight + end) > 0:
                    worked = midnight + end
                    yield max(midnight + begin, start), worked
            day += _DAY
            if midnight - worked > _LONGEST_CLOSURE:
                raise LabourError(
                    f"the shop is closed for two months after {worked:%d %B %Y}; check the holidays"
                )


def seconds_between(first: datetime, second: datetime) -> int:
    """The seconds from one moment to another. Clock changes count where the moments know their zone."""
    if first.tzinfo is not None:
        first, second = first.astimezone(UTC), second.astimezone(UTC)
    return round((second - first).total_seconds())


def later(start: datetime, seconds: int) -> datetime:
    """The moment that many seconds after `start`, in its zone."""
    if start.tzinfo is None:
        return start + timedelta(seconds=seconds)
    return (start.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(start.tzinfo)


def _span(text: str, whole: str) -> Span:
    match = _RANGE.fullmatch(text)
    if not match or int(match[1]) > 23 or int(match[3]) * 60 + int(match[4]) > 24 * 60:
        raise LabourError(f"working hours {whole!r}: {text!r} is not understood; write {_EXAMPLE}")
    begin, end = (timedelta(hours=int(match[i]), minutes=int(match[i + 1])) for i in (1, 3))
    return begin, end if end > begin else end + _DAY


def _days(text: str, whole: str) -> Iterator[int]:
    first, _, last = text.partition("-")
    try:
        begin = DAYS.index(first.title())
        end = DAYS.index(last.title()) if last else begin
    except ValueError:
        raise LabourError(f"working hours {whole!r}: {text!r} is not a day; write {_EXAMPLE}") from None
    yield from (day % 7 for day in range(begin, end + 1 if end >= begin else end + 8))


class Calendar:
    """Working time in whole seconds since the start, up to a horizon. It tells where work would fall."""

    def __init__(self, hours: Hours, start: datetime, horizon: int) -> None:
        """The calendar from a start. `horizon` is how many seconds of working time it covers, at least."""
        self.start = start
        self.begins: list[int] = []
        self.ends: list[int] = []
        self.before: list[int] = []
        """The working seconds before each stretch."""
        days: list[date] = []
        worked = 0
        for begin, end in hours.stretches(start):
            b, e = seconds_between(start, begin), seconds_between(start, end)
            if self.ends and b <= self.ends[-1]:
                self.ends[-1] = e
            else:
                self.begins.append(b)
                self.ends.append(e)
                self.before.append(worked)
                days.append(begin.date())
            worked = self.before[-1] + self.ends[-1] - self.begins[-1]
            if worked >= horizon:
                break
        self.horizon = self.ends[-1]
        count = len(days)
        last_of_day = [max(k for k in range(i, count) if days[k] == days[i]) for i in range(count)]
        self._last = {
            Split.NEVER: list(range(count)),
            Split.BREAKS: last_of_day,
            Split.NIGHTS: [count - 1] * count,
        }

    def place(self, earliest: int, length: int, split: Split) -> tuple[int, int] | None:
        """The first start from `earliest` on at which `length` (> 0) seconds of work fit, and their end.

        Neither decreases when `earliest` grows. None when they would lie beyond the horizon.
        """
        last = self._last[split]
        at = bisect_right(self.ends, earliest)
        while at < len(self.ends):
            begin = max(earliest, self.begins[at])
            done = self.before[at] + begin - self.begins[at] + length
            final = last[at]
            if done <= self.before[final] + self.ends[final] - self.begins[final]:
                if begin + length <= self.ends[at]:
                    return begin, begin + length
                holds = bisect_left(self.before, done) - 1
                return begin, self.begins[holds] + done - self.before[holds]
            at += 1 if split is Split.NEVER else final + 1 - at
        return None

    def pieces(self, length: int, split: Split) -> list[tuple[int, int, int]]:
        """Every allowed start, as ranges: the first, the last, and the seconds of breaks within such work."""
        last = self._last[split]
        found = []
        for at, begin in enumerate(self.begins):
            for holds in range(at, last[at] + 1):
                pause = self.begins[holds] - self.before[holds] - (begin - self.before[at])
                low = max(begin, self.begins[holds] - pause - length + (1 if holds > at else 0))
                high = min(self.ends[at] - 1, self.ends[holds] - pause - length)
                if low <= high:
                    found.append((low, high, pause))
        return found

    def worked(self, moment: int) -> int:
        """The working seconds before a moment."""
        at = bisect_right(self.begins, moment) - 1
        if at < 0:
            return 0
        return self.before[at] + min(moment, self.ends[at]) - self.begins[at]

    def moment(self, worked: float) -> float:
        """The first moment by which so many working seconds have passed."""
        at = max(0, bisect_left(self.before, worked) - 1)
        return self.begins[at] + worked - self.before[at]

    def night_between(self, first: int, second: int) -> bool:
        """Whether everyone goes home between the two moments: no day's work holds both."""
        return not any(
            self.begins[i] <= first and second <= self.ends[last]
            for i, last in enumerate(self._last[Split.BREAKS])
        )

    def going_home(self, moment: int) -> int:
        """The end of the working day that a moment lies in, or of the day before it."""
        at = max(0, bisect_left(self.begins, moment) - 1)
        return self.ends[self._last[Split.BREAKS][at]]
