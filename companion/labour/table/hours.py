"""The shop's working hours, in the time on its wall; and how long it was closed while nothing was said."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
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
NIGHT = timedelta(hours=4)
"""A shop closed for so long is not at its work. A lunch break is shorter: somebody may have worked on."""


class ShopTime(tzinfo):
    """The time on the shop's wall, daylight saving and all, by the zone of this machine.

    Working hours are hours on the wall. `datetime.astimezone()` alone gives one offset for good, which is an
    hour out once the clocks have changed.
    """

    def utcoffset(self, moment: datetime | None) -> timedelta | None:
        return None if moment is None else moment.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, moment: datetime | None) -> timedelta | None:
        return None

    def tzname(self, moment: datetime | None) -> str | None:
        return None if moment is None else moment.replace(tzinfo=None).astimezone().tzname()

    def fromutc(self, moment: datetime) -> datetime:
        return datetime.fromtimestamp(moment.replace(tzinfo=UTC).timestamp()).replace(tzinfo=self)


SHOP_TIME = ShopTime()


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
        clauses = (piece.replace(",", " ").split() for piece in text.split(";"))
        for days, *ranges in filter(None, clauses):
            spans = tuple(_span(one, text) for one in ranges)
            if not spans or any(b[0] < a[1] for a, b in pairwise(spans)):
                raise LabourError(
                    f"working hours {text!r}: stretches of {days!r} are missing or overlap; write {_EXAMPLE}"
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

    def closed_s(self, first: float, second: float) -> float:
        """For how long the shop was closed between two moments (seconds since 1970), lunch breaks left out.

        Time closed counts where it lasts for `NIGHT` or more: nobody spoke for so long, and nobody had to.
        """
        return float(sum(end - begin for begin, end in self.nights(first, second)))

    def nights(self, first: float, second: float) -> Iterator[tuple[float, float]]:
        """When that was, from and to."""
        since, end = (datetime.fromtimestamp(at, SHOP_TIME) for at in (first, second))
        for opens, closes in self.stretches(since):
            gap = seconds_between(since, min(opens, end))
            if gap >= NIGHT.total_seconds():
                begin = since.timestamp()
                yield begin, begin + gap
            if closes >= end:
                return
            since = closes

    def but_nights(self, first: float, second: float) -> Iterator[tuple[float, float]]:
        """What is left of the time between two moments in which nothing was said."""
        begin = first
        if second - first >= NIGHT.total_seconds():
            for night, morning in self.nights(first, second):
                if night > begin:
                    yield begin, night
                begin = morning
        if second > begin:
            yield begin, second


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
