"""The part of the report about steps: charts against the book, and steps with no book time."""

from collections.abc import Sequence
from datetime import timedelta
from itertools import groupby

from companion.labour.answers.written import NO_BOOK, clock, ratio_words, step_words
from companion.labour.report import charts
from companion.labour.report.report_data import ReportData, StepRow
from companion.pages.html import Html, figure, items, join, paper_only, paragraph, screen_only, table, text
from companion.procedure.nouns import several

MOST_STEPS = 60
"""So many steps of one procedure are in a chart. Beyond that, those that differ most from the book."""
MOST_ON_PAPER = 3
"""So many procedures are on paper: a page each, of six."""
_MOST_NO_BOOK = 5


def steps_section(rows: Sequence[StepRow]) -> Html:
    """The steps of each procedure: a chart, the same in words for a narrow screen, and as a table.

    Paper has the charts of a few procedures.
    """
    parts = []
    titles = list(dict.fromkeys(row.title for row in rows))
    weight = {t: sum((r.typical * r.jobs for r in rows if r.title == t), timedelta()) for t in titles}
    on_paper = sorted(titles, key=lambda t: -weight[t])[:MOST_ON_PAPER]
    for n, (title, group) in enumerate(groupby(rows, key=lambda row: row.title)):
        shown = list(group)
        caption = (
            "Dot: the typical time of the next job (red: longer than the book; hollow: never timed). "
            "Line: eight of ten jobs. Upright line: the book. The scale is time as a multiple of the book; "
            "‹ and › are beyond it."
        )
        if len(shown) > MOST_STEPS:
            caption += f" The {MOST_STEPS} of {len(shown)} steps that differ most from the book."
            most = sorted(shown, key=lambda r: -abs(r.ratio - 1))[:MOST_STEPS]
            shown = [row for row in shown if row in most]
        figures = table(
            f"{title}: times by step",
            (
                "Step",
                "Rests on",
                "Book",
                "Typical",
                "Eight of ten from",
                "to",
                "Against book",
                "Over ten jobs",
                "More jobs for ±10\u00a0%",
                "for ±5\u00a0%",
            ),
            [
                (
                    step_words(row.step),
                    row.basis,
                    clock(row.book),
                    clock(row.typical),
                    clock(row.low),
                    clock(row.high),
                    ratio_words(row.ratio),
                    "" if row.trend is None else ratio_words(1 + row.trend),
                    "" if row.more_10 is None else row.more_10,
                    "" if row.more_5 is None else row.more_5,
                )
                for row in shown
            ],
            words=2,
        )
        head = [Html(f"<h3>{text(title)}</h3>")] if len(titles) > 1 else []
        chart = charts.step_chart(f"steps-{n}", shown, title if len(titles) > 1 else "")
        part = join([*head, figure(chart, caption, figures, _brief(shown))])
        parts.append(part if title in on_paper else screen_only(part))
    if len(titles) > MOST_ON_PAPER:
        more = len(titles) - MOST_ON_PAPER
        parts.append(
            paper_only(f"The {MOST_ON_PAPER} procedures with the most work; {more} more on the screen.")
        )
    return join(parts)


def _brief(rows: Sequence[StepRow]) -> Html:
    """The same in words, for a narrow screen."""
    lines = []
    for row in rows:
        times = f"{clock(row.typical)} (book {clock(row.book)})"
        lines.append(f"{against_book(row.ratio)}: {step_words(row.step)}, {times}")
    return items(lines)


def against_book(ratio: float) -> str:
    """A mark and words, such as "▲ +94 % slower"."""
    words = ratio_words(ratio)
    if words.startswith("±"):
        return "= as the book"
    return f"▲ {words} slower" if ratio > 1 else f"▼ {words} quicker"


def no_book_section(data: ReportData) -> Html:
    """Steps that cannot stand against the book."""
    rows = [
        (step_words(r.step), r.title, r.basis, NO_BOOK, clock(r.typical), clock(r.low), clock(r.high))
        for r in data.no_book
    ]
    heads = ("Step", "Procedure", "Rests on", "Book", "Typical", "Eight of ten from", "to")
    what = "Steps of which no book time was ever logged"
    parts = [table(what, heads, rows[:_MOST_NO_BOOK], words=4)]
    if rest := rows[_MOST_NO_BOOK:]:
        parts.append(screen_only(table(f"{what}, the others", heads, rest, words=4)))
        parts.append(paper_only(f"{len(rest)} more on the screen."))
    if data.jobs_without_book:
        jobs = several(data.jobs_without_book, "job")
        parts.append(paragraph(f"{jobs} with no book time at all: counted above, not in “Jobs over time”."))
    return join(parts)
