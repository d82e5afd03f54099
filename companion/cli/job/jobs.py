"""`companion jobs`: which jobs there are, and where one stands."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.harmless import one_line

if TYPE_CHECKING:
    from companion.job.facts.state import State
    from companion.labour.table.hours import Hours
    from companion.logbook.jobs import JobSummary
    from companion.work.desk import DeskMessage


_WORDS = ("Mechanic", "Vehicle", "Procedure", "Why held")


@click.command(
    epilog="Examples: companion jobs; companion jobs 2031-03-04-sump-reseal-1 --handover page.html; "
    "companion jobs 2031-03-04-sump-reseal-1 --record record.html; "
    "companion jobs 2031-03-04-sump-reseal-1 --await 'coolant pump' --days 3"
)
@click.argument("job", required=False, metavar="[JOB]")
@options.logs
@options.as_json
@click.option(
    "--await",
    "part",
    type=options.Words(),
    metavar="PART",
    help="A part of this job is expected; with --days.",
)
@click.option(
    "--days", type=options.Finite(0, 366, min_open=True), metavar="N", help="In so many days from now."
)
@click.option("--arrived", type=options.Words(), metavar="PART", help="A part that was awaited has come.")
@click.option(
    "--done",
    type=options.Words(),
    metavar="WORDS",
    help="A follow-up of this closed job, by words of it, is done.",
)
@click.option(
    "--handover",
    "page",
    type=options.NewPage(),
    metavar="FILE.html",
    help="Write the job's handover page, and print it.",
)
@click.option(
    "--record",
    type=options.NewPage(),
    metavar="FILE.html",
    help="Write the job's record of work, to print: what was measured, renewed, tightened, left out, noted.",
)
def command(
    job: str | None,
    logs: Path,
    as_json: bool,
    part: str | None,
    days: float | None,
    arrived: str | None,
    done: str | None,
    page: Path | None,
    record: Path | None,
) -> None:
    """List jobs, the one last worked on first; or tell where one stands and what was done, hand it over, or
    await a part.

    Hours are those at work on steps, without holds, absences and nights outside the shop's hours.
    """
    if (part is None) != (days is None):
        raise click.UsageError("--await names the part and --days says when: give both")
    given = [option for option in (part, arrived, done, page, record) if option is not None]
    if len(given) > 1:
        raise click.UsageError("--await, --arrived, --done, --handover and --record are done one at a time")
    if job is None and given:
        raise click.UsageError("--await, --arrived, --done, --handover and --record need the name of a job")
    if job is not None and part is not None:
        _await(job, logs, part, days or 0)
    elif job is not None and arrived is not None:
        _arrived(job, logs, arrived)
    elif job is not None and done is not None:
        _done(job, logs, done)
    elif job is not None and page is not None:
        _hand_over(job, logs, page)
    elif job is not None and record is not None:
        _write_record(job, logs, record)
    elif job is None:
        _list(logs, as_json)
    else:
        _show(job, logs, as_json)


def _list(logs: Path, as_json: bool) -> None:
    from companion.cli.labour.tables import show_table
    from companion.logbook.jobs import list_jobs

    jobs = list_jobs(logs)
    opening = _opening(logs)
    rows = []
    for summary in jobs:
        worked, trouble = _worked(summary, logs, opening)
        state = (
            "trouble"
            if trouble
            else "never begun"
            if not summary.begun
            else "closed"
            if summary.closed
            else "held"
            if summary.held
            else "open"
        )
        if as_json:
            line = {
                "job": summary.job,
                "title": summary.title,
                "vehicle": summary.vehicle,
                "mechanic": summary.mechanic,
                "mechanics": list(summary.mechanics),
                "state": state,
                "held_because": summary.because,
                "worked_s": None if worked is None else round(worked, 3),
                "first": summary.first.isoformat() if summary.first else None,
                "last": summary.last.isoformat() if summary.last else None,
                "torn": summary.torn,
                "trouble": trouble,
            }
            click.echo(json.dumps(line, ensure_ascii=False))
            continue
        rows.append(
            (
                summary.job,
                "" if worked is None else f"{worked / 3600:.1f}",
                _local(summary.last) if summary.last else "never",
                state,
                ", ".join(summary.mechanics),
                one_line(summary.vehicle),
                one_line(summary.title),
                one_line(trouble or summary.because),
            )
        )
    if rows:
        show_table(("Job", "Hours", "Last worked on", "State", *_WORDS), rows, words=5)
    elif not as_json:
        click.echo(f"No jobs in {logs}. Start one: companion work PROCEDURE.yaml")


def _opening(logs: Path) -> "Hours | None":
    """The shop's hours, where it says them; a file of the shop with a fault hides no job."""
    from companion.errors import LabourError
    from companion.labour.table.shop import shop_of

    try:
        return shop_of(logs).open_hours
    except LabourError as error:
        click.echo(f"companion: warning: nights are counted as work: {error}", err=True)
        return None


def _worked(summary: "JobSummary", logs: Path, opening: "Hours | None") -> tuple[float | None, str]:
    """The seconds of work on a job, where its log tells them; and what is wrong with the log."""
    from companion.errors import LogbookError
    from companion.labour.table.stopwatch import Stopwatch
    from companion.logbook.jobs import timed

    if summary.trouble or not summary.begun:
        return None, summary.trouble
    watch = Stopwatch(hours=opening)
    try:
        for record in timed(logs / f"{summary.job}.jsonl"):
            watch.see(record)
    except LogbookError as error:
        return None, str(error)
    return watch.total, ""


def _local(moment: datetime) -> str:
    return f"{moment.astimezone():%Y-%m-%d %H:%M}"


def _show(job: str, logs: Path, as_json: bool) -> None:
    from companion.job.rules.ledger import left_out, open_things
    from companion.job.words.sentences import sentence
    from companion.papers.record_of_work import as_data, as_text, record_of_work
    from companion.work.after import local_short
    from companion.work.opening import read_whole

    state, records = read_whole(job, logs)
    record = record_of_work(state, records, local_short)
    things = open_things(state)
    if as_json:
        line = {
            "job": state.job,
            "closed": state.closed,
            "held": state.held,
            "step": state.current,
            "settled": {s.step: {"how": str(s.how), "because": s.because} for s in state.settled.values()},
            "open": [t.text for t in things],
            "left_out": [f"{t.text}: {t.because}" for t in left_out(state)],
            "waiting": {d.id: d.due.isoformat() for d in state.deadlines.values()},
            "notes": [
                {"note": n.number, "step": n.step, "text": n.text, "clip": n.clip} for n in state.notes
            ],
            "record": as_data(record),
        }
        click.echo(json.dumps(line, ensure_ascii=False))
        return
    where = "closed" if state.closed else "held" if state.held else "open"
    click.echo(f"{state.job}: {state.procedure.title}, {where}")
    click.echo(f"{len(state.settled)} of {len(state.procedure.steps)} steps settled")
    if state.step:
        click.echo(f"At step {state.procedure.number(state.step.id)}: {state.step.say}")
    for thing in things:
        click.echo(f"Open: {sentence(thing.text)}")
    for thing in left_out(state):
        click.echo(f"Left out for good: {sentence(f'{thing.text}: {thing.because}')}")
    for deadline in sorted(state.deadlines.values(), key=lambda d: d.due):
        click.echo(f"Due {_local(deadline.due)}: {sentence(deadline.name)}")
    click.echo()
    click.echo("\n".join(as_text(record)))


def _write_record(job: str, logs: Path, path: Path) -> None:
    from companion.files import write_named
    from companion.papers.record_of_work import as_html
    from companion.work.after import record_of

    write_named(path, as_html(record_of(job, logs)))
    click.echo(f"Record of work: {path}")


def _await(job: str, logs: Path, part: str, days: float) -> None:
    from companion.job.messages import PartAwaited
    from companion.job.words.sentences import sentence

    def told(state: "State") -> str:
        deadline = list(state.deadlines.values())[-1]
        return f"{_local(deadline.due)}: {sentence(deadline.name)} 'companion due' lists it."

    _at_desk(job, logs, PartAwaited(part, timedelta(days=days)), told)


def _arrived(job: str, logs: Path, part: str) -> None:
    from companion.job.messages import PartCame

    _at_desk(job, logs, PartCame(part), lambda _: f"No longer awaited: {part}.")


def _done(job: str, logs: Path, what: str) -> None:
    from companion.job.messages import FollowedUp

    _at_desk(job, logs, FollowedUp(what), lambda _: f"No longer due: {what}.")


def _at_desk(job: str, logs: Path, message: "DeskMessage", told: Callable[["State"], str]) -> None:
    """Log it and say so, then write the handover page again. If that fails, what was logged stays."""
    from companion.work.after import renew_page
    from companion.work.desk import write_at_desk
    from companion.work.edges.clock import SystemClock

    clock = SystemClock()
    state = write_at_desk(job, logs, message, clock)
    click.echo(told(state))
    if page := renew_page(job, logs, state, clock.now().wall):
        click.echo(f"Handover page: {page}")


def _hand_over(job: str, logs: Path, path: Path) -> None:
    from companion.papers.handover import as_text
    from companion.work.after import handover_of, write_page
    from companion.work.edges.clock import SystemClock

    page = handover_of(job, logs, SystemClock().now().wall)
    write_page(page, path)
    for line in as_text(page):
        click.echo(line)
