"""The earliest times of a project for a given order of work.

Every rule (a lag, working hours, one mechanic at a time) only says that one time is not before some others.
It never says less when those grow. So the earliest times are a least fixed point: start everything at once,
and push until no rule is broken. That point is earliest for all activities together. A longer order only
pushes further. So the times of a half-decided order bound all its completions from below.
"""

from collections.abc import Sequence
from heapq import heappush, heappushpop

from companion.labour.plan.calendar import Calendar
from companion.labour.plan.project import Project


class Times:
    """The start and end of every activity, in seconds since the start of the plan."""

    __slots__ = ("end", "start")

    def __init__(self, start: list[int], end: list[int]) -> None:
        self.start = start
        self.end = end

    def copy(self) -> "Times":
        return Times(self.start.copy(), self.end.copy())


class Timing:
    """A project made ready for the search: whole seconds, and activities by number."""

    def __init__(self, project: Project, calendar: Calendar, mechanics: int = 1) -> None:
        self.project = project
        self.calendar = calendar
        self.mechanics = mechanics
        activities = project.activities
        self.count = len(activities)
        self.length = [seconds_up(a.duration.total_seconds()) for a in activities]
        self.occupies = [a.occupies and length > 0 for a, length in zip(activities, self.length, strict=True)]
        """Whether it takes a mechanic's time. What takes no time is a milestone, which may fall anywhere."""
        self.latest = [None if a.latest is None else int(a.latest.total_seconds()) for a in activities]
        self.after: list[list[tuple[int, int]]] = [[] for _ in activities]
        """For each activity, those that follow it, with the least lag."""
        self.limits: list[list[tuple[int, int]]] = [[] for _ in activities]
        """For each activity, those that it must follow closely, with the longest lag."""
        for lag in project.lags:
            before, after = project.index[lag.before], project.index[lag.after]
            self.after[before].append((after, seconds_up(lag.least.total_seconds())))
            if lag.most is not None:
                self.limits[after].append((before, int(lag.most.total_seconds())))
        self.limited = [
            any(i == before for into in self.limits for before, _ in into) for i in range(self.count)
        ]
        """Whether a longest lag comes after it."""
        self.due = [calendar.horizon] * self.count
        """No activity may end after this. A search lowers it as it finds better plans."""
        self._placed: list[dict[int, tuple[int, int] | None]] = [{} for _ in activities]

    def place(self, activity: int, earliest: int) -> tuple[int, int] | None:
        """Where the activity falls when it may start at `earliest`. None when that is too late."""
        cache = self._placed[activity]
        if earliest in cache:
            return cache[earliest]
        length, latest = self.length[activity], self.latest[activity]
        found: tuple[int, int] | None = (earliest, earliest + length)
        if self.occupies[activity]:
            found = self.calendar.place(earliest, length, self.project.activities[activity].split)
        if found and (found[1] > self.calendar.horizon or (latest is not None and found[0] > latest)):
            found = None
        cache[earliest] = found
        return found

    def begin(self) -> Times | None:
        """The earliest times with no order of work decided. None when no plan fits the horizon."""
        times = Times([-1] * self.count, [-1] * self.count)
        for i, activity in enumerate(self.project.activities):
            if not self._push(times, i, seconds_up(activity.earliest.total_seconds())):
                return None
        return times if self.settle(times, (), list(range(self.count))) else None

    def _push(self, times: Times, activity: int, earliest: int) -> bool:
        found = self.place(activity, earliest)
        if found is None or found[1] > self.due[activity]:
            return False
        times.start[activity], times.end[activity] = found
        return True

    def settle(self, times: Times, order: Sequence[int], moved: list[int]) -> bool:
        """Push until no rule is broken. False when something cannot be placed any more.

        Args:
            order: the activities that are worked first, in order. All other work starts after them.
            moved: the activities that were pushed just now.
        """
        start, end = times.start, times.end
        while True:
            while moved:
                i = moved.pop()
                for j, least in self.after[i]:
                    if start[j] < end[i] + least:
                        if not self._push(times, j, end[i] + least):
                            return False
                        moved.append(j)
                for j, most in self.limits[i]:
                    if end[j] < start[i] - most:
                        if not self._push(times, j, start[i] - most - self.length[j]):
                            return False
                        moved.append(j)
            if not self._hands(times, order, moved):
                return False
            if not moved:
                return True

    def _hands(self, times: Times, order: Sequence[int], moved: list[int]) -> bool:
        """Push so that no more is worked at once than there are mechanics, and the order is kept."""
        start, end = times.start, times.end
        busy: list[int] = []
        floor = 0
        for i in order:
            if start[i] < floor:
                if not self._push(times, i, floor):
                    return False
                moved.append(i)
            floor = max(start[i], self._take(busy, end[i]))
        if order:
            ordered = set(order)
            for i in range(self.count):
                if start[i] < floor and self.occupies[i] and i not in ordered:
                    if not self._push(times, i, floor):
                        return False
                    moved.append(i)
        return True

    def _take(self, busy: list[int], end: int) -> int:
        """Occupy one more mechanic until `end`; when the next is free. `busy` is a heap of such ends."""
        if len(busy) < self.mechanics:
            heappush(busy, end)
        else:
            heappushpop(busy, end)
        return busy[0] if len(busy) == self.mechanics else 0

    def free(self, times: Times, order: Sequence[int]) -> list[int]:
        """When each busy mechanic is free again, the earliest first."""
        busy: list[int] = []
        for i in order:
            self._take(busy, times.end[i])
        return sorted(busy)

    def in_order(self, order: Sequence[int]) -> Times | None:
        """The earliest times when all occupying activities start in this order."""
        times = self.begin()
        if times is None or not self.settle(times, order, list(order)):
            return None
        return times


def seconds_up(seconds: float) -> int:
    """Whole seconds, rounded up."""
    return -int(-seconds // 1)
