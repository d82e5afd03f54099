"""The plan as a Gantt chart in the terminal, and the time axis of every chart of a plan."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from companion.labour.plan.planner import Plan
from companion.labour.table.hours import later, seconds_between

if TYPE_CHECKING:
    from rich.console import Group

_WORK, _WAIT, _LAG, _NIGHT, _BREAK = "█", "░", "·", "│", "┊"
_STEPS_MIN = (5, 10, 15, 30, 60, 120, 240, 480)


class Axis:
    """Places moments of a plan between 0 and `width`: working time to scale, breaks and nights as slivers."""

    def __init__(self, plan: Plan, width: float, sliver: float) -> None:
        """The axis of a plan. `sliver` is the width of a break between two stretches of work."""
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
        """The place of a moment. In a break it is somewhere in the sliver."""
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
        """Every sliver: from, to, and whether it is a night."""
        for (_, end, _), (begin, _, at) in zip(self._places, self._places[1:], strict=False):
            yield at - self.sliver, at, self._plan.calendar.night_between(end, begin)

    def days(self) -> Iterator[tuple[float, float, datetime]]:
        """Every working day: from, to, and a moment of it."""
        start: tuple[float, datetime] | None = None
        for n, (begin, end, at) in enumerate(self._places):
            start = start or (at, later(self._plan.start, begin))
            last = n + 1 == len(self._places)
            if last or self._plan.calendar.night_between(end, self._places[n + 1][0]):
                yield start[0], at + (end - begin) * self._scale, start[1]
                start = None

    def ticks(self, room: float) -> Iterator[tuple[float, datetime]]:
        """Full hours, or parts or multiples of them, at least `room` apart: their places and moments."""
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


def gantt_text(plan: Plan, width: int = 100) -> "Group":
    """The chart for a terminal of that many columns, to be printed by rich."""
    from rich.console import Group
    from rich.text import Text

    names = min(28, max([4, *(len(str(p)) for p in plan.placed)]))
    chart = max(20, width - names - 16)
    axis = Axis(plan, chart - 1, 1.0)
    lines = [
        Text(_days_line(axis, names, chart), style="bold"),
        Text(_ticks_line(axis, names, chart), style="dim"),
    ]
    breaks = [(round(x), _NIGHT if night else _BREAK) for x, _, night in axis.breaks()]
    for placed in plan.placed:
        cells = [" "] * chart
        for at, sign in breaks:
            cells[at] = sign
        if end := plan.held_until(placed):
            _fill(cells, axis.x(placed.end), axis.x(end), _LAG)
        _fill(cells, axis.x(placed.begin), axis.x(placed.end), _WORK if placed.mechanic else _WAIT)
        line = Text(f"{str(placed)[:names]:<{names}} ")
        line.append("".join(cells), style="cyan" if placed.mechanic else "magenta")
        line.append(f" {placed.begin:%H:%M}–{placed.end:%H:%M}")
        if plan.mechanics > 1 and placed.mechanic:
            line.append(f" {placed.mechanic}")
        lines.append(line)
    key = f"{_WORK} work  {_WAIT} wait  {_LAG} cures, nobody needed  {_NIGHT} night  {_BREAK} break"
    lines += [Text(key, style="dim"), Text(plan.verdict())]
    return Group(*lines)


def _fill(cells: list[str], begin: float, end: float, sign: str) -> None:
    first = min(len(cells) - 1, int(begin + 0.5))
    for at in range(first, max(first + 1, min(len(cells), int(end + 0.5)))):
        cells[at] = sign


def _days_line(axis: Axis, names: int, chart: int) -> str:
    cells = [" "] * (names + 1 + chart)
    for begin, end, day in axis.days():
        words = f"{day:%a} {day.day} {day:%b}" if end - begin >= 10 else f"{day:%a}"
        if end - begin >= len(words):
            _write(cells, names + 1 + int(begin), words)
    return "".join(cells)


def _ticks_line(axis: Axis, names: int, chart: int) -> str:
    cells = [" "] * (names + 1 + chart)
    for x, moment in axis.ticks(7):
        _write(cells, names + 1 + round(x), f"{moment:%H:%M}")
    return "".join(cells)


def _write(cells: list[str], at: int, words: str) -> None:
    if at + len(words) <= len(cells):
        cells[at : at + len(words)] = words
