"""Working time as a line of whole seconds, and where a piece of work falls on it."""

from bisect import bisect_left, bisect_right
from datetime import date, datetime
from enum import StrEnum

from companion.labour.table.hours import Hours, seconds_between


class Split(StrEnum):
    """Over what a step may be left half done."""

    NEVER = "never"
    BREAKS = "over breaks"
    """Within the day, such as over lunch."""
    NIGHTS = "over nights"
    """Also over the end of the day."""


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
