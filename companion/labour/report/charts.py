"""The charts of the report. A table beside each tells its figures."""

import math
from collections.abc import Sequence
from datetime import datetime

from companion.labour.answers.written import clock, ratio_words, step_words
from companion.labour.report.report_data import Held, JobPoint, Lost, StepRow, Verdict
from companion.pages.html import Picture
from companion.pages.svg import Svg
from companion.procedure.nouns import several

WIDTH = 960.0
_NAMES = 190.0
_ROW = 22.0
_RATIOS = (0.25, 1 / 3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
_MOST_NAMED = 4
"""So many mechanics have a sign of their own; the rest share one."""


class _RatioScale:
    """A logarithmic scale of time over book time."""

    def __init__(self, low: float, high: float, start: float, end: float) -> None:
        self.low, self.high = max(0.2, min(low, 0.75)), min(10.0, max(high, 1.5))
        self._start = start
        self._scale = (end - start) / math.log(self.high / self.low)

    def __call__(self, ratio: float) -> float:
        return self._start + self._scale * math.log(min(max(ratio, self.low), self.high) / self.low)

    def ticks(self) -> list[tuple[float, str]]:
        inside = [r for r in _RATIOS if self.low * 0.999 <= r <= self.high * 1.001]
        return [(self(r), "book" if r == 1 else f"{r:.2g}×") for r in inside]


def step_chart(name: str, rows: Sequence[StepRow], procedure: str = "") -> Picture:
    """A dot for the typical time of each step, a line for eight of ten jobs, the book at 1×.

    Args:
        procedure: its title, where the page has charts of several.
    """
    over = [r for r in rows if r.ratio > 1]
    told = (
        f"{several(len(rows), 'step')}, in the order in which they are done; {len(over)} typically take "
        "longer than the book. The figures are in the table below the chart."
    )
    height = 34 + _ROW * len(rows) + 6
    title = f"{procedure}: actual time against book time, by step"
    svg = Svg(name, WIDTH, height, title if procedure else "Actual time against book time, by step", told)
    right = WIDTH - 178
    scale = _RatioScale(min(r.low / r.book for r in rows), max(r.high / r.book for r in rows), _NAMES, right)
    for x, words in scale.ticks():
        svg.line(x, 24, x, height, "book" if words == "book" else "grid")
        svg.label(x, 14, words, "small mid" if words == "book" else "small soft mid")
    svg.label(right + 14, 14, "typical (book)", "small soft")
    svg.label(WIDTH, 14, "jobs", "small soft end")
    for n, row in enumerate(rows):
        y = 34 + _ROW * n + _ROW / 2
        words = f"{clock(row.typical)} ({clock(row.book)})"
        svg.label(0, y + 4, step_words(row.step), room=_NAMES - 12)
        svg.line(scale(row.low / row.book), y, scale(row.high / row.book), y, "range")
        for off, x in ((row.ratio < scale.low, _NAMES - 8), (row.ratio > scale.high, right + 8)):
            if off:
                svg.label(x, y + 4, "‹" if x < _NAMES else "›", "mid")
        kind = "over" if row.ratio > 1.0 else "bar"
        svg.mark(
            0, scale(row.ratio), y, kind if row.jobs else f"ring {kind} hollow range", f"{row.step}: {words}"
        )
        svg.label(right + 14, y + 4, words, "small")
        svg.label(WIDTH, y + 4, str(row.jobs), "small soft end")
    return svg.done()


def trend_chart(points: Sequence[JobPoint]) -> Picture:
    """The time of each job against the book, in the order of the calendar, with a running median."""
    names = mechanics(points)
    grouped = any(p.jobs > 1 for p in points)
    height, left, bottom = 300.0, 44.0, 250.0
    jobs = several(sum(p.jobs for p in points), "job")
    told = f"{jobs} by date. {_direction(points)} The figures are in the table."
    svg = Svg("trend", WIDTH, height, "Time of each job against the book, over time", told)
    scale = _RatioScale(
        min(p.low or p.ratio for p in points), max(p.high or p.ratio for p in points), bottom, 34.0
    )
    for y, words in scale.ticks():
        svg.line(left, y, WIDTH, y, "book" if words == "book" else "grid")
        svg.label(left - 8, y + 4, words, "small soft end")
    step = (WIDTH - left - 24) / max(1, len(points) - 1)
    places = [left + 12 + n * step for n in range(len(points))]
    _dates(svg, points, places, bottom)
    for x, point in zip(places, points, strict=True):
        told_point = f"{point.started:%d %b %Y}: {ratio_words(point.ratio)} against the book"
        if grouped:
            svg.line(x, scale(point.low), x, scale(point.high), "range")
            svg.mark(
                0, x, scale(point.ratio), "bar", f"{told_point} (median of {several(point.jobs, 'job')})", 4
            )
        else:
            sign = names.index(point.mechanic) if point.mechanic in names else _MOST_NAMED
            told_point += "".join(f", {one}" for one in (point.mechanic, point.vehicle, point.title) if one)
            svg.mark(sign, x, scale(point.ratio), f"s{sign + 1}", told_point, 4.5)
    svg.path(
        [
            (x, scale(m))
            for x, m in zip(places, running_median(points, max(3, len(points) // 12)), strict=True)
        ],
        "trend",
    )
    x = left
    for n, who in enumerate([] if grouped else [*names, *(["others"] if _others(points, names) else [])]):
        svg.mark(n, x + 6, 12, f"s{n + 1}", size=4.5)
        svg.label(x + 17, 16, who or "not told", "small", room=120)
        x += 34 + 7 * min(len(who or "not told"), 17)
    svg.line(x + 6, 12, x + 30, 12, "trend")
    svg.label(x + 36, 16, "running median", "small")
    return svg.done()


def _dates(svg: Svg, points: Sequence[JobPoint], places: Sequence[float], bottom: float) -> None:
    """Name the month at its first job, where there is room."""
    drawn, month = -90.0, None
    for x, point in zip(places, points, strict=True):
        if (point.started.year, point.started.month) != month and x - drawn >= 76 and x < WIDTH - 40:
            svg.line(x, bottom + 4, x, bottom + 10, "axis")
            svg.label(x, bottom + 26, _month(point.started), "small soft mid")
            drawn = x
        month = (point.started.year, point.started.month)


def _month(date: datetime) -> str:
    return f"{date:%b %Y}"


def mechanics(points: Sequence[JobPoint]) -> list[str]:
    """The mechanics with the most jobs, by name."""
    counts: dict[str, int] = {}
    for point in points:
        counts[point.mechanic] = counts.get(point.mechanic, 0) + 1
    return sorted(sorted(counts, key=lambda who: (-counts[who], who))[:_MOST_NAMED])


def _others(points: Sequence[JobPoint], names: Sequence[str]) -> bool:
    return any(point.mechanic not in names for point in points)


def running_median(points: Sequence[JobPoint], reach: int = 3) -> list[float]:
    """The median of each job and of up to `reach` on either side."""
    ratios = [p.ratio for p in points]
    found = []
    for n in range(len(ratios)):
        near = sorted(ratios[max(0, n - reach) : n + reach + 1])
        middle = len(near) // 2
        found.append(near[middle] if len(near) % 2 else math.sqrt(near[middle - 1] * near[middle]))
    return found


def _direction(points: Sequence[JobPoint]) -> str:
    third = max(1, len(points) // 3)
    first, last = (sorted(p.ratio for p in part)[third // 2] for part in (points[:third], points[-third:]))
    was, now = ratio_words(first), ratio_words(last)
    return f"The first third typically took {was} against the book, the last third {now}."


def calibration_chart(held: Sequence[Held]) -> Picture:
    """How many times fell inside ranges, against how many should."""
    told = " ".join(
        f"Of the {100 * h.level:.0f} % ranges {100 * h.share:.0f} % held "
        f"(by chance {100 * h.low:.0f} to {100 * h.high:.0f} %){h.verdict}."
        for h in held
    )
    top, row = 34.0, 34.0
    height = top + row * len(held) + 4
    svg = Svg("calibration", WIDTH, height, "Stated ranges against what happened", told)
    left, right = _NAMES, WIDTH - 178

    def place(share: float) -> float:
        return left + (right - left) * share

    for tenth in range(0, 11, 2):
        svg.line(place(tenth / 10), 24, place(tenth / 10), height, "grid")
        svg.label(place(tenth / 10), 14, f"{10 * tenth} %", "small soft mid")
    for n, one in enumerate(held):
        y = top + row * n + row / 2
        svg.label(0, y + 4, f"range of {100 * one.level:.0f} %")
        svg.bar(place(one.low), y - 5, place(one.high) - place(one.low), 10, "pale")
        svg.line(place(one.level), y - 11, place(one.level), y + 11, "book")
        svg.mark(
            0,
            place(one.share),
            y,
            "over" if one.verdict is Verdict.NARROW else "bar",
            f"{100 * one.share:.1f} % inside",
        )
        svg.label(right + 14, y + 4, f"{100 * one.share:.0f} % held{one.verdict}", "small")
    return svg.done()


def lost_chart(lost: Sequence[Lost]) -> Picture:
    """Where interruptions and waits go, in hours together."""
    longest = max(one.together for one in lost)
    told = (
        f"The most: {lost[0].reason}, {clock(lost[0].together)} together, {several(lost[0].times, 'time')}."
    )
    height = 8 + _ROW * len(lost)
    svg = Svg("lost", WIDTH, height, "Time that was not work", told)
    right = WIDTH - 178
    for n, one in enumerate(lost):
        y = 8 + _ROW * n
        name = step_words(one.reason) if one.waiting else one.reason
        svg.label(0, y + 14, name, room=_NAMES - 12)
        long = (right - _NAMES) * (one.together / longest)
        svg.bar(_NAMES, y + 3, max(2.0, long), _ROW - 8, "pale" if one.waiting else "over")
        svg.label(right + 14, y + 14, f"{clock(one.together)} · {one.times}×", "small")
    svg.line(_NAMES, 4, _NAMES, height, "axis")
    return svg.done()
