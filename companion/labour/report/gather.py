"""What the report tells, from the step table."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

from companion.labour.answers.times import StepTimes, times
from companion.labour.report.foresight import foresight
from companion.labour.report.report_data import JobPoint, Lost, NoBookRow, ReportData, SlowNote, StepRow
from companion.labour.table.collect import StepTable

MOST_POINTS = 240
"""With more jobs than this, the trend is drawn from groups of them."""
_GROUPS = 60
_MOST_NOTES = 20
_NAMED = "($title IS NULL OR title = $title)"

_TOTALS = f"""
SELECT count(DISTINCT job_number) AS jobs, count(DISTINCT mechanic) FILTER (mechanic <> '') AS mechanics,
    coalesce(sum(active_s), 0) AS active_s, min(started) AS first, max(started) AS last
FROM per_job WHERE {_NAMED}
"""
_JOBS = f"""
SELECT any_value(job) AS job, any_value(title) AS title, any_value(mechanic) AS mechanic,
    any_value(vehicle) AS vehicle, min(started) AS started, sum(active_s) AS active_s,
    sum(active_s) FILTER (book_s > 0) / sum(book_s) FILTER (book_s > 0) AS ratio
FROM per_job WHERE NOT censored AND {_NAMED}
GROUP BY job_number HAVING ratio > 0 ORDER BY started, job_number
"""
_NO_BOOK = f"""
SELECT count(*) AS jobs FROM (
    SELECT job_number FROM per_job WHERE {_NAMED} GROUP BY job_number
    HAVING count(*) FILTER (book_s > 0) = 0
)
"""
_JOB_GROUPS = f"""
SELECT to_timestamp(avg(epoch(started)))::TIMESTAMP AS started, count(*) AS jobs,
    quantile_cont(ratio, [0.1, 0.5, 0.9]) AS ratios
FROM (SELECT *, ntile({_GROUPS}) OVER (ORDER BY started, job) AS part FROM ({_JOBS}))
GROUP BY part ORDER BY started
"""
_WAITS = f"""
SELECT step, sum(active_s) AS seconds, count(*) AS times
FROM steps WHERE NOT labour AND outcome <> 'not_needed' AND {_NAMED} GROUP BY step
"""


def gather(
    table: StepTable, title: str | None = None, *, made: datetime | None = None, shop: str = ""
) -> ReportData:
    """All that the report tells, of all procedures or of the one with that title.

    Args:
        made: when it is made; now by default.
        shop: the name on the report.
    """
    table.per_job()
    named = {"title": title}
    known = times(table, title, noted_only=True)
    totals = table.query(_TOTALS, named)[0]
    return ReportData(
        made=made or datetime.now(UTC),
        jobs=totals["jobs"],
        mechanics=totals["mechanics"],
        work=timedelta(seconds=totals["active_s"]),
        first=totals["first"],
        last=totals["last"],
        steps=tuple(_row(step, step.book) for step in known.steps if step.book),
        points=tuple(_points(table, named, totals["jobs"])),
        no_book=tuple(_no_book(step) for step in known.steps if not step.book),
        jobs_without_book=table.query(_NO_BOOK, named)[0]["jobs"],
        held=foresight(table, title),
        lost=tuple(_lost(table, named, known.steps)),
        notes=tuple(_notes(known.steps))[:_MOST_NOTES],
        learnt=tuple((name, fit.learnt) for name, fit in known.fits.items() if fit.learnt),
        odd=tuple((name, str(fit.odd)) for name, fit in known.fits.items() if fit.odd),
        shop=shop,
    )


def _row(step: StepTimes, book: timedelta) -> StepRow:
    low, high = step.predicted.interval(0.8)
    typical, basis = step.predicted.typical, str(step.predicted.basis)
    more = step.more_jobs(0.1), step.more_jobs(0.05)
    return StepRow(step.title, step.step, book, typical, low, high, step.jobs, basis, step.trend, *more)


def _no_book(step: StepTimes) -> NoBookRow:
    low, high = step.predicted.interval(0.8)
    return NoBookRow(step.title, step.step, step.predicted.typical, low, high, str(step.predicted.basis))


def _points(table: StepTable, named: dict[str, Any], jobs: int) -> Iterator[JobPoint]:
    if jobs > MOST_POINTS:
        for row in table.query(_JOB_GROUPS, named):
            low, middle, high = row["ratios"]
            yield JobPoint(row["started"], middle, jobs=row["jobs"], low=low, high=high)
        return
    for row in table.query(_JOBS, named):
        active = timedelta(seconds=row["active_s"])
        yield JobPoint(
            row["started"], row["ratio"], row["mechanic"], row["vehicle"], row["title"], row["job"], active
        )


def _lost(table: StepTable, named: dict[str, Any], steps: tuple[StepTimes, ...]) -> Iterator[Lost]:
    """Where time goes that is not work, the longest first."""
    reasons: dict[str, tuple[timedelta, int]] = {}
    for one in (interruption for step in steps for interruption in step.interruptions):
        together, count = reasons.get(one.reason, (timedelta(), 0))
        reasons[one.reason] = (together + one.together, count + one.times)
    found = [Lost(reason, together, count) for reason, (together, count) in reasons.items()]
    for row in table.query(_WAITS, named):
        found.append(Lost(row["step"], timedelta(seconds=row["seconds"]), row["times"], waiting=True))
    yield from sorted(found, key=lambda lost: (-lost.together, lost.reason))


def _notes(steps: tuple[StepTimes, ...]) -> Iterator[SlowNote]:
    """What was noted in the slowest cases, the one farthest over the typical time first."""
    found = [
        SlowNote(
            step.title,
            step.step,
            case.job,
            case.mechanic,
            case.vehicle,
            case.active,
            step.predicted.typical,
            note,
        )
        for step in steps
        for case in step.slowest
        for note in case.notes
    ]
    yield from sorted(found, key=lambda note: -(note.active / note.typical))
