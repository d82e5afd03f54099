"""The report as one page."""

from collections.abc import Sequence
from itertools import accumulate, groupby

from companion.labour.answers.written import clock, ratio_words, step_words
from companion.labour.model.learning import MODEL, Learnt, first_times, nth_time
from companion.labour.report import charts
from companion.labour.report.report_data import Held, JobPoint, Lost, ReportData, SlowNote
from companion.labour.report.steps_section import against_book, no_book_section, steps_section
from companion.pages.html import Html, figure, items, join, page, paragraph, screen_only, table, tiles
from companion.procedure.nouns import several

_MOST_LOST = 15
_REPETITIONS = (1, 2, 3, 4, 5, 7, 10, 15, 20, 30, 50)
_LEARNING = (
    f"By the {MODEL} model, each doubling of the times done multiplies the time by the rate. “Takes” is the "
    "time of that repetition, as a part of the first. “All up to it” is the time of all so far, in times of "
    "the first. Repetitions are those of one mechanic, counted in the logs."
)
_MOST_ALIKE = 3
_LINES_OF_NOTES = 26
"""So much of the notes is on paper."""
_OFF = 1.25
"""A step is named when it typically takes a quarter more or less than the book."""


_PAPER = "@media print{.figures{display:none}.chart svg{max-height:200mm}}"
"""On paper the charts tell their figures themselves. With the tables, too, the demo had fifteen pages."""


def build_report(data: ReportData) -> str:
    """The whole page: no script, no request, all logged text escaped."""
    sections: list[tuple[str, str, Html]] = []
    if data.steps:
        sections.append(("findings", "What stands out", items(_findings(data))))
        sections.append(("steps", "Actual against book, by step", steps_section(data.steps)))
    if data.no_book:
        sections.append(("no-book", "Steps with no book time", no_book_section(data)))
    if data.points:
        sections.append(("trend", "Jobs over time", _trend(data.points)))
    if data.steps:
        sections.append(("calibration", "Can the ranges be trusted?", _calibration(data.held)))
    if data.learnt:
        instead = "The curves are on the screen; what stands out tells how much."
        sections.append(("learning", "Getting faster", screen_only(_learning(data.learnt), instead)))
    if data.lost:
        sections.append(("lost", "Where waiting and interruptions go", _lost(data.lost[:_MOST_LOST])))
    if data.notes:
        sections.append(("notes", "Said in the slowest cases", _notes(data.notes)))
    if not sections:
        sections.append(
            ("empty", "Nothing logged yet", paragraph("Work a job first; its times appear here."))
        )
    title = f"Labour report: {data.shop}" if data.shop else "Labour report"
    foot = [
        "Active time only: holds, interruptions, waits and time away are taken out. Steps that were skipped "
        "or left unfinished count as “at least so long”. Expected times start at the book time and move away "
        "from it as jobs are logged; with few jobs the ranges are wide.",
        "Times do not rate people: cars and conditions differ.",
    ]
    return page(title, _lead(data), sections, foot, _tiles(data), _PAPER)


def _lead(data: ReportData) -> str:
    made = f"Made on {data.made:%d %B %Y, %H:%M}"
    if data.first is None or data.last is None:
        return f"{made}."
    return f"Jobs from {data.first:%d %B %Y} to {data.last:%d %B %Y}. {made}."


def _tiles(data: ReportData) -> Html:
    facts = [
        (
            "Jobs",
            f"{data.jobs:,}",
            f"by {data.mechanics} mechanics" if data.mechanics != 1 else "by one mechanic",
        ),
        ("Work", f"{data.work.total_seconds() / 3600:,.1f} h", "active time"),
    ]
    if data.points:
        ratios = sorted(p.ratio for p in data.points)
        facts.append(("Against the book", ratio_words(ratios[len(ratios) // 2]), "the middle job"))
    broken = sum(one.together.total_seconds() for one in data.lost if not one.waiting)
    if data.jobs:
        facts.append(("Interrupted", f"{broken / 60 / data.jobs:.0f} min", "a job, on average"))
    return tiles(facts)


def _findings(data: ReportData) -> list[str]:
    known = [row for row in data.steps if row.jobs]
    told = []
    weighty = sorted(known, key=lambda r: -abs(r.typical - r.book) * r.jobs)  # the most minutes first
    longer = [r for r in weighty if r.ratio >= _OFF]
    quicker = [r for r in weighty if r.ratio <= 1 / _OFF]
    for rows, word in ((longer, "longer"), (quicker, "shorter")):
        for row in rows[:3]:
            told.append(
                f"{_named(row.step)} typically takes {clock(row.typical)}, {word} than the book's "
                f"{clock(row.book)} ({ratio_words(row.ratio)}; {row.basis})."
            )
    if known and not told:
        told.append("No step is typically more than a quarter off its book time.")
    if not known:
        told.append("No step has been timed yet: what is shown is the book time and how far it may be off.")
    for row in sorted((r for r in known if r.trend is not None), key=lambda r: -abs(r.trend or 0))[:2]:
        word = "quicker" if (row.trend or 0) < 0 else "slower"
        told.append(f"{_named(row.step)} gets {word}: {abs(100 * (row.trend or 0)):.0f} % over ten jobs.")
    told += _few([f"{name}: {how}. The times are those of the next repetition." for name, how in data.learnt])
    told += _few([f"{name}: {how}, as by interruptions that nobody logged." for name, how in data.odd])
    if broken := [one for one in data.lost if not one.waiting]:
        worst = broken[0]
        told.append(
            f"Most time is lost to “{worst.reason}”: {clock(worst.together)}, {several(worst.times, 'time')}."
        )
    return told


def _few(told: Sequence[str]) -> list[str]:
    rest = len(told) - _MOST_ALIKE
    more = f"The same of {several(rest, 'more procedure')}; “companion times” tells each."
    return [*told[:_MOST_ALIKE], *([more] if rest > 0 else [])]


def _named(step: str) -> str:
    words = step_words(step)
    return words[:1].upper() + words[1:]


def _trend(points: Sequence[JobPoint]) -> Html:
    grouped = any(p.jobs > 1 for p in points)
    caption = (
        "Each point is a job: its finished steps against their book times, in the order of the calendar "
        "(dates mark where a month begins). Upwards is slower."
    )
    if grouped:
        caption = (
            "Each point is the median of a group of jobs that follow one another, its line eight of ten of "
            "them. Upwards is slower."
        )
        rows = [
            (f"{p.started:%d %b %Y}", p.jobs, ratio_words(p.ratio), ratio_words(p.low), ratio_words(p.high))
            for p in points
        ]
        figures = table("Groups of jobs", ("Around", "Jobs", "Median", "Eight of ten from", "to"), rows)
    else:
        jobs = [
            (p.job or f"{p.started:%d %b %Y}", f"{p.started:%d %b %Y}", p.title, p.mechanic or "not told",
             p.vehicle or "not told", clock(p.active), ratio_words(p.ratio))
            for p in points
        ]  # fmt: skip
        heads = ("Job", "Date", "Procedure", "Mechanic", "Vehicle", "Time", "Against book")
        figures = table("Jobs", heads, jobs, words=5)
    return figure(charts.trend_chart(points), caption, figures, _by_month(points))


def _by_month(points: Sequence[JobPoint]) -> Html:
    """The same in words, for a narrow screen."""
    told = []
    for month, group in groupby(points, key=lambda point: f"{point.started:%b %Y}"):
        these = list(group)
        ratios = sorted(point.ratio for point in these)
        jobs = several(sum(point.jobs for point in these), "job")
        told.append(f"{month}: {against_book(ratios[len(ratios) // 2])}, {jobs}")
    return items(told)


def _learning(curves: Sequence[tuple[str, Learnt]]) -> Html:
    parts = [paragraph(_LEARNING)]
    for title, curve in curves:
        rows = [
            (
                n,
                f"{100 * nth_time(curve.rate, n):.0f} %",
                f"{100 * nth_time(curve.low, n):.0f} %",
                f"{100 * nth_time(curve.high, n):.0f} %",
                f"{first_times(curve.rate, n):.2f}",
            )
            for n in _REPETITIONS
        ]
        heads = ("Repetition", "Takes", "95 % range from", "to", "All up to it")
        parts.append(table(f"{title}: {curve}", heads, rows))
    return join(parts)


def _calibration(held: Sequence[Held]) -> Html:
    if not held:
        return paragraph(
            "Too few jobs to say: nine of one procedure are needed before its later third can be checked."
        )
    caption = (
        f"The later third of the jobs ({several(held[0].jobs, 'job')}, "
        f"{several(held[0].steps, 'step time')}), foretold from the earlier two thirds alone. Dot: the share "
        "that fell inside the stated range. Upright line: the share that should. Pale bar: what chance "
        "makes of it in 98 of 100 shops whose ranges are right. Red: the ranges are too narrow."
    )
    rows = [(*(f"{100 * share:.0f} %" for share in (h.level, h.share, h.low, h.high)), h.steps) for h in held]
    heads = ("Stated", "Held", "By chance from", "to", "Step times")
    return figure(charts.calibration_chart(held), caption, table("Stated ranges and what held", heads, rows))


def _lost(lost: Sequence[Lost]) -> Html:
    caption = "Hours together over all jobs, and how often. Red: interruptions. Pale: waits that are steps."
    rows = [
        (one.reason, "wait" if one.waiting else "interruption", one.times, clock(one.together))
        for one in lost
    ]
    figures = table("Time not worked", ("What", "Kind", "Times", "Together"), rows, words=2)
    return figure(charts.lost_chart(lost), caption, figures)


def _notes(notes: Sequence[SlowNote]) -> Html:
    rows = [
        (
            step_words(n.step),
            n.note,
            n.job,
            n.mechanic or "not told",
            n.vehicle or "not told",
            clock(n.active),
            clock(n.typical),
        )
        for n in notes
    ]
    heads = ("Step", "Note", "Job", "Mechanic", "Vehicle", "Took", "Typical")
    fits = sum(1 for lines in accumulate(map(_lines, notes)) if lines <= _LINES_OF_NOTES)
    what = "Notes spoken in the slowest tenth of each step's times"
    parts = [table(what, heads, rows[:fits], words=5)] if fits else []
    if rest := rows[fits:]:
        others = table(f"{what}, the others" if fits else what, heads, rest, words=5)
        parts.append(screen_only(others, f"{len(rest)} more on the screen."))
    return join(parts)


def _lines(note: SlowNote) -> int:
    """So many lines it takes on paper, about."""
    return max(1 + len(note.note) // 40, 1 + len(note.job) // 16, 1 + len(note.vehicle) // 12)
