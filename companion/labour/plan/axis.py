"""The time axis of a Gantt chart: working time to scale, breaks and nights closed up to a sliver."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from companion.labour.plan.hours import later, seconds_between
from companion.labour.plan.planner import Plan

_STEPS_MIN = (5, 10, 15, 30, 60, 120, 240, 480)


class Axis:
    """From a moment of a plan to a place between 0 and `width`."""

    def __init__(self, plan: Plan, width: float, sliver: float) -> None:
        """`sliver`: the width of a break between two stretches of work."""
        self._plan = plan
        finish = max(1, seconds_between(plan.start, plan.finish))
        pairs = zip(plan.calendar.begins, plan.calendar.ends, strict=True)
        self.stretches = [(b, min(e, finish)) for b, e in pairs if b < finish] or [(0, finish)]
        if self.stretches[-1][1] < finish:
            self.stretches.append((self.stretches[-1][1], finish))
        worked = sum(e - b for b, e in self.stretches)
        breaks = len(self.stretches) - 1
        self.sliver = min(sliver, width / (2 * breaks)) if breaks else 0.0
        self._scale = (width - breaks * self.sliver) / worked
        self._places: list[tuple[int, int, float]] = []
        at = 0.0
        for begin, end in self.stretches:
            self._places.append((begin, end, at))
            at += (end - begin) * self._scale + self.sliver

    def x(self, moment: datetime) -> float:
        """The place of a moment; inside a break, somewhere in its sliver."""
        second = seconds_between(self._plan.start, moment)
        for n, (begin, end, at) in enumerate(self._places):
            if second <= end:
                if second >= begin or n == 0:
                    return at + max(0, second - begin) * self._scale
                before = self._places[n - 1][1]
                return at - self.sliver * (begin - second) / (begin - before)
        begin, end, at = self._places[-1]
        return at + (end - begin) * self._scale

    def breaks(self) -> Iterator[tuple[float, float, bool]]:
        """(from, to, is it a night?) of every sliver."""
        for (_, end, _), (begin, _, at) in zip(self._places, self._places[1:], strict=False):
            yield at - self.sliver, at, self._plan.calendar.night_between(end, begin)

    def days(self) -> Iterator[tuple[float, float, datetime]]:
        """(from, to, a moment of it) of every working day."""
        start: tuple[float, datetime] | None = None
        for n, (begin, end, at) in enumerate(self._places):
            start = start or (at, later(self._plan.start, begin))
            last = n + 1 == len(self._places)
            if last or self._plan.calendar.night_between(end, self._places[n + 1][0]):
                yield start[0], at + (end - begin) * self._scale, start[1]
                start = None

    def ticks(self, room: float) -> Iterator[tuple[float, datetime]]:
        """Full hours (or parts or multiples of them) at least `room` apart."""
        per_minute = 60 * self._scale
        step = next((s for s in _STEPS_MIN if s * per_minute >= room), _STEPS_MIN[-1])
        drawn = -room
        for begin, end, at in self._places:
            first = later(self._plan.start, begin)
            midnight = first.replace(hour=0, minute=0, second=0, microsecond=0)
            minutes = -(-seconds_between(midnight, first) // (60 * step)) * step
            while (moment := midnight + timedelta(minutes=minutes)) <= later(self._plan.start, end):
                x = at + (seconds_between(self._plan.start, moment) - begin) * self._scale
                if x - drawn >= room * 0.9:
                    yield x, moment
                    drawn = x
                minutes += step
