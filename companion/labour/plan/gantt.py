"""The plan as a Gantt chart in the terminal."""

from typing import TYPE_CHECKING

from companion.labour.plan.axis import Axis
from companion.labour.plan.planner import Plan

if TYPE_CHECKING:
    from rich.console import Group

_WORK, _WAIT, _LAG, _NIGHT, _BREAK = "█", "░", "·", "│", "┊"


def gantt_text(plan: Plan, width: int = 100) -> "Group":
    """For a terminal of that many columns, to be printed by rich."""
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
