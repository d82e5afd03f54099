"""`companion due`: what is due over all jobs."""

import json
import sys
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options

if TYPE_CHECKING:
    from companion.job.facts.state import State
    from companion.papers.due import Due, Undated
    from companion.papers.ics import DueEntry


WEEKS = timedelta(weeks=4)
"""What is due after that is only counted, unless it is asked for."""


@click.command(
    epilog="Examples: companion due; companion due --until 2031-06-30; companion due --ics workshop.ics; "
    "companion due --json"
)
@options.logs
@click.option(
    "--until",
    type=options.Day(),
    metavar="DATE",
    help="To the end of that day, instead of the next four weeks; for --ics and --json, instead of all.",
)
@click.option("--all", "everything", is_flag=True, help="However far off.")
@click.option(
    "--ics",
    type=options.NewPage(),
    metavar="FILE",
    help="Write it as a calendar with alarms (RFC 5545) that other programs read; all, without --until.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object per line; all, without --until.")
def command(logs: Path, until: date | None, everything: bool, ics: Path | None, as_json: bool) -> None:
    """List what is due over all jobs, by vehicle, soonest first: waits, timers, parts expected, follow-ups.

    The next four weeks are shown, and how much lies later. What is late is marked. Follow-ups by distance or
    by heat cycles alone come last with their vehicle, since no clock can tell when they are due.
    """
    from companion.papers.due import due_over, later_than
    from companion.work.edges.clock import SystemClock

    if until is not None and everything:
        raise click.UsageError("--until and --all: give one of them")
    now = SystemClock().now().wall
    chosen = None if until is None else _end_of(until)
    trouble: list[str] = []
    due = due_over(_jobs(logs, trouble))
    if as_json:
        _as_json(due, now, chosen)
    else:
        _list(due, now, None if everything else chosen or now + WEEKS)
    if ics is not None:
        left_out = later_than(due, chosen) if chosen else ()
        entries = due.entries[: len(due.entries) - len(left_out)]
        _write(ics, entries, now)
        if not as_json:
            told = "one entry" if len(entries) == 1 else f"{len(entries)} entries"
            more = f"; {len(left_out)} later left out" if left_out else ""
            click.echo(f"Calendar: {ics}, {told}{more}")
    if trouble:
        more = f" (and {len(trouble) - 1} more)" if len(trouble) > 1 else ""
        click.echo(f"companion: not all jobs could be read, so more may be due: {trouble[0]}{more}", err=True)
        sys.exit(2)


def _end_of(day: date) -> datetime:
    """The last moment of a day in the workshop."""
    try:
        return datetime.combine(day, time.max).astimezone()
    except (ValueError, OverflowError):
        raise options.not_a_day("--until", day) from None


def _list(due: "Due", now: datetime, until: datetime | None) -> None:
    from companion.papers.due import by_vehicle, later_than

    groups = by_vehicle(due, until)
    far = {f.dated: f for f in due.undated if f.dated}
    for group in groups:
        click.echo(group.vehicle or f"vehicle not told ({group.job})")
        for entry in group.entries:
            click.echo(f"  {_line(entry, now, far.get(entry))}")
        for follow_up in group.undated:
            click.echo(f"  {follow_up.when():36} {follow_up.what}  ({follow_up.job})")
    later = later_than(due, until) if until else ()
    if later:
        sooner = sum(entry in far for entry in later)
        may = f" ({sooner} by distance or heat cycles, which may come sooner)" if sooner else ""
        verb = "is" if len(later) == 1 else "are"
        click.echo(
            f"{len(later)} more {verb} due later{may}, the first on "
            f"{later[0].due.astimezone():%Y-%m-%d}: 'companion due --all' lists them."
        )
    if not groups:
        click.echo("Nothing else is due." if later else "Nothing is due.")


def _as_json(due: "Due", now: datetime, until: datetime | None) -> None:
    far = {f.dated: f for f in due.undated if f.dated}
    for entry in due.entries:
        if until is None or entry.due <= until:
            click.echo(json.dumps(_plain(entry, now, far.get(entry)), ensure_ascii=False))
    for follow_up in due.undated:
        if follow_up.dated is None:
            plain = {
                "what": follow_up.what,
                "distance_km": follow_up.distance_km,
                "heat_cycles": follow_up.heat_cycles,
                "job": follow_up.job,
                "vehicle": follow_up.vehicle,
            }
            click.echo(json.dumps(plain, ensure_ascii=False))


def _jobs(logs: Path, trouble: list[str]) -> "Iterator[State]":
    """Where each job stands; what cannot be read goes to `trouble`, so that the others are still told."""
    from companion.errors import LogbookError, ProcedureError
    from companion.logbook.jobs import list_jobs
    from companion.work.opening import read_job

    for summary in list_jobs(logs):
        if not summary.begun:
            continue
        try:
            yield read_job(summary.job, logs)
        except (LogbookError, ProcedureError) as error:
            trouble.append(str(error))


def _line(entry: "DueEntry", now: datetime, far: "Undated | None") -> str:
    """A follow-up that is also due after a distance says so in its own words."""
    from companion.job.words.sentences import sentence
    from companion.procedure.units import short

    late = now - entry.due
    over = late > timedelta()
    when = f"LATE by {short(late)}" if over else f"in {short(-late)}"
    what = entry.what if over else sentence(far.what if far else entry.running or entry.what)
    local = f"{entry.due.astimezone():%Y-%m-%d %H:%M}"
    return f"{local}  {when:18} {what}  ({entry.job})"


def _plain(entry: "DueEntry", now: datetime, far: "Undated | None") -> dict[str, object]:
    return {
        "due": entry.due.isoformat(),
        "late_s": max(0.0, round((now - entry.due).total_seconds(), 3)),
        "what": entry.what,
        "distance_km": far.distance_km if far else None,
        "heat_cycles": far.heat_cycles if far else None,
        "job": entry.job,
        "vehicle": entry.vehicle,
        "priority": entry.priority.name.lower(),
        "deadline": entry.deadline,
    }


def _write(path: Path, entries: "tuple[DueEntry, ...]", now: datetime) -> None:
    from companion.files import write_named
    from companion.papers.ics import calendar_of

    write_named(path, calendar_of(entries, now))
