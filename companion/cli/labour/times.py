"""`companion times`: how long each step really takes, and what gets in the way."""

import json
from collections import Counter
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.cli import options
from companion.cli.labour.asked import capital, logged_mechanic, logged_title, mechanic_option, warn_of_faults
from companion.cli.labour.tables import show_line, show_list, show_table
from companion.extras import Extra
from companion.harmless import one_line
from companion.labour.answers.written import NO_BOOK, minutes, off
from companion.procedure.nouns import several

if TYPE_CHECKING:
    from companion.labour.answers.times import JobTotal, StepTimes, Times
    from companion.labour.model.fitted import Fitted

RANGE = 0.8
"""The range that is shown holds eight of ten next jobs."""


@click.command(
    epilog="Examples: companion times procedures/sump-reseal.yaml; "
    "companion times --logs logs/demo --mechanic Aske"
)
@options.maybe_procedure
@click.option("--title", help="The procedure by its title, as it is logged.")
@mechanic_option
@click.option("--top", default=5, show_default=True, metavar="N", help="How many of each list are shown.")
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(
    procedure: Path | None, title: str | None, mechanic: str, top: int, logs: Path, as_json: bool
) -> None:
    """For each step: the book, what is typical of the next job, the range of eight in ten, and the trend.

    The whole job is told last: the steps that were done in at least half of the jobs.

    Then the steps that differ most from the book, what interrupts, and what was said in the slowest tenth.
    Only active time counts: holds, waits and time away are taken out.
    """
    from companion.labour.answers.times import times
    from companion.labour.table.collect import collect

    order: dict[str, int] = {}
    if procedure is not None:
        if title is not None:
            raise click.UsageError("name the procedure or its --title, not both")
        from companion.procedure.read import read_procedure

        read = read_procedure(procedure)
        title, order = read.title, {step.id: n for n, step in enumerate(read.steps)}
    with collect(logs) as table:
        warn_of_faults(table)
        title = logged_title(table, title, logs)
        mechanic = logged_mechanic(table, mechanic, title, logs)
        found = times(table, title, logs, mechanic=mechanic)
    steps = sorted(found.steps, key=lambda step: order.get(step.step, len(order)))
    if as_json:
        for step in steps:
            data = _data(step) | {
                "whole_job": _whole_job(found.totals[step.title]),
                "learning": _learning(found.fits[step.title]),
                "odd": _odd(found.fits[step.title]),
            }
            click.echo(json.dumps(data, ensure_ascii=False))
    else:
        _show(found, steps, max(0, top), mechanic)


def _show(found: "Times", ordered: Sequence["StepTimes"], top: int, mechanic: str) -> None:
    same_id = Counter((s.title, s.step) for s in found.steps)
    for title, fit in found.fits.items():
        steps = [s for s in ordered if s.title == title]
        if not steps:
            continue
        rows = [_row(s, same_id[s.title, s.step] > 1) for s in steps] + [_total_row(found.totals[title])]
        heads = ("Step", "Book", "Typical", "8 of 10", "Off book", "Trend", "More jobs", "Rests on")
        jobs = "one job" if fit.jobs == 1 else f"{fit.jobs} jobs"
        who = f", the times of {one_line(mechanic)}" if mechanic else ""
        show_table(
            heads, rows, f"{one_line(title)}: minutes of active time, {jobs}{who}; trend over ten jobs"
        )
        if fit.learnt:
            show_line(f"{capital(str(fit.learnt))}; the times are those of the next repetition.")
        if fit.odd:
            show_line(
                f"{fit.odd}, as by interruptions that nobody logged: {fit.odd.consequence}. "
                'Say "hold the job" when called away.'
            )
        for pair in found.joined:
            if pair.title == title:
                show_line(
                    f"{one_line(str(pair))}: the same work in other words, so the times of both count. "
                    "If not, say it with 'companion shop --not-same'."
                )
        if any(same_id[s.title, s.step] > 1 for s in steps):
            show_line(
                "A step with a mark in brackets is listed once for each way in which its work was described."
            )
        click.echo()
    show_line(
        "More jobs: so many are still to be logged until the mean of a step is right to ±10 % / ±5 %, 95 "
        "times of 100."
    )
    click.echo()
    named = len(found.fits) > 1
    show_list("Most different from the book", (_differs(s, named) for s in found.most_different(top)))
    show_list("What interrupts", (_interrupted(s, named) for s in found.most_interrupted(top)))
    show_list("Said in the slowest tenth", _slowest(found, top, named))


def _row(step: "StepTimes", marked: bool) -> tuple[str, ...]:
    low, high = step.predicted.interval(RANGE)
    return (
        f"{one_line(step.step)} [{step.work[:4]}]" if marked else one_line(step.step),
        minutes(step.book) if step.book else NO_BOOK,
        minutes(step.predicted.typical),
        f"{minutes(low)} to {minutes(high)}",
        "" if step.off_book is None else off(step.off_book),
        "" if step.trend is None else off(1 + step.trend),
        " / ".join("?" if (more := step.more_jobs(part)) is None else str(more) for part in (0.1, 0.05)),
        str(step.predicted.basis),
    )


def _total_row(total: "JobTotal") -> tuple[str, ...]:
    low, high = total.predicted.interval(RANGE)
    known = total.no_book == 0
    return (
        f"The whole job ({several(total.steps, 'usual step')})",
        minutes(total.book) if known else f"{minutes(total.book)} and {total.no_book} with {NO_BOOK}",
        minutes(total.predicted.typical),
        f"{minutes(low)} to {minutes(high)}",
        off(total.predicted.typical / total.book) if known and total.book else "",
        "",
        "",
        str(total.predicted.basis),
    )


def _whole_job(total: "JobTotal") -> dict[str, Any]:
    low, high = total.predicted.interval(RANGE)
    return {
        "steps": total.steps,
        "no_book": total.no_book,
        "book_s": total.book.total_seconds(),
        "typical_s": round(total.predicted.typical.total_seconds(), 1),
        "mean_s": round(total.predicted.mean.total_seconds(), 1),
        "p10_s": round(low.total_seconds(), 1),
        "p90_s": round(high.total_seconds(), 1),
    }


def _name(step: "StepTimes", with_title: bool) -> str:
    return f"{one_line(step.step)} ({one_line(step.title)})" if with_title else one_line(step.step)


def _differs(step: "StepTimes", named: bool) -> str:
    typical, book = minutes(step.predicted.typical), minutes(step.book or timedelta())
    return (
        f"{_name(step, named)}: typically {typical} min, book {book} min "
        f"({off(step.off_book or 1)}; {step.predicted.basis})"
    )


def _interrupted(step: "StepTimes", named: bool) -> str:
    reasons = [
        f"{one_line(i.reason) or 'no reason told'}, {_times(i.times)}, {minutes(i.together)} min"
        for i in step.interruptions
    ]
    return f"{_name(step, named)}: {minutes(step.interrupted)} min lost ({'; '.join(reasons)})"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _slowest(found: "Times", top: int, named: bool) -> list[str]:
    """What was noted, where a step was slowest against its usual time first."""
    said = [
        (case.active / step.predicted.typical, step, case)
        for step in found.steps
        for case in step.slowest
        if case.notes
    ]
    said.sort(key=lambda one: -one[0])
    lines = [
        f"{_name(step, named)}: {minutes(case.active)} min, {ratio:.1f} times the typical "
        f"({one_line(case.mechanic) or 'mechanic not told'}, {one_line(case.vehicle) or 'vehicle not told'}, "
        f"{case.job}): {'; '.join(map(one_line, case.notes))}"
        for ratio, step, case in said[:top]
    ]
    silent = sum(len(step.slowest) for step in found.steps) - len(said)
    if len(said) > top:
        lines.append(f"{len(said) - top} more with notes: --top {len(said)} shows them")
    if silent:
        lines.append(f"{silent} more of the slowest tenth have no note; --json lists them")
    return lines


def _learning(fit: "Fitted") -> dict[str, Any] | None:
    """What the times of the procedure show of learning."""
    shown = fit.learnt
    if shown is None:
        return None
    from companion.labour.model.learning import MODEL

    rate = {"rate": shown.rate, "low": shown.low, "high": shown.high}
    return {"model": MODEL, **{k: round(v, 4) for k, v in rate.items()}, "jobs": shown.jobs}


def _odd(fit: "Fitted") -> dict[str, int] | None:
    """How many times are far off the rest."""
    return {"times": fit.odd.times, "of": fit.odd.of} if fit.odd else None


def _data(step: "StepTimes") -> dict[str, Any]:
    low, high = step.predicted.interval(RANGE)
    return {
        "title": step.title,
        "step": step.step,
        "work": step.work,
        "act": step.act,
        "book_s": step.book.total_seconds() if step.book else None,
        "typical_s": round(step.predicted.typical.total_seconds(), 1),
        "mean_s": round(step.predicted.mean.total_seconds(), 1),
        "p10_s": round(low.total_seconds(), 1),
        **{f"p{p}_s": round(step.predicted.quantile(p / 100).total_seconds(), 1) for p in (50, 80)},
        "p90_s": round(high.total_seconds(), 1),
        "p95_s": round(step.predicted.quantile(0.95).total_seconds(), 1),
        "off_book": None if step.off_book is None else round(step.off_book, 3),
        "trend_10_jobs": None if step.trend is None else round(step.trend, 3),
        "seen_s": None if step.seen is None else round(step.seen.total_seconds(), 1),
        "more_jobs_10": step.more_jobs(0.1),
        "more_jobs_5": step.more_jobs(0.05),
        "jobs": step.jobs,
        "mechanics": step.mechanics,
        "unfinished": step.unfinished,
        "repeated": step.repeated,
        "basis": str(step.predicted.basis),
        "interrupted_s": round(step.interrupted.total_seconds(), 1),
        "interruptions": [
            {"reason": i.reason, "times": i.times, "seconds": round(i.together.total_seconds(), 1)}
            for i in step.interruptions
        ],
        "slowest": [
            {
                "job": c.job,
                "mechanic": c.mechanic,
                "vehicle": c.vehicle,
                "active_s": round(c.active.total_seconds(), 1),
                "notes": list(c.notes),
            }
            for c in step.slowest
        ],
    }
