"""`companion due`: what is due over all jobs."""

import json
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options

if TYPE_CHECKING:
    from companion.job.facts.state import State
    from companion.papers.calendar import DueEntry


@click.command(epilog="Examples: companion due; companion due --ics workshop.ics; companion due --json")
@options.logs
@click.option(
    "--ics",
    type=options.NewPage(),
    metavar="FILE",
    help="Write it as a calendar with alarms (RFC 5545) that other programs read.",
)
@options.as_json
def command(logs: Path, ics: Path | None, as_json: bool) -> None:
    """List what is due over all jobs, soonest first: waits, timers, parts expected, follow-ups.

    What is late is marked. Follow-ups by distance or by heat cycles come last, since no clock can tell when
    they are due; those that have a day too, or a day to ask, are also in their place.
    """
    from companion.papers.due import due_over
    from companion.work.edges.clock import SystemClock

    now = SystemClock().now().wall
    trouble: list[str] = []
    due = due_over(_jobs(logs, trouble))
    for entry in due.entries:
        click.echo(json.dumps(_plain(entry, now), ensure_ascii=False) if as_json else _line(entry, now))
    for follow_up in due.undated:
        if as_json:
            plain = {
                "what": follow_up.what,
                "distance_km": follow_up.distance_km,
                "heat_cycles": follow_up.heat_cycles,
                "job": follow_up.job,
                "vehicle": follow_up.vehicle,
            }
            click.echo(json.dumps(plain, ensure_ascii=False))
        else:
            about = _about(follow_up.vehicle, follow_up.job)
            click.echo(f"{follow_up.when()}  {follow_up.what}  {about}")
    if not as_json and not due.entries and not due.undated:
        click.echo("Nothing is due.")
    if ics is not None:
        _write(ics, due.entries, now)
        if not as_json:
            entries = "one entry" if len(due.entries) == 1 else f"{len(due.entries)} entries"
            click.echo(f"Calendar: {ics}, {entries}")
    if trouble:
        more = f" (and {len(trouble) - 1} more)" if len(trouble) > 1 else ""
        click.echo(f"companion: not all jobs could be read, so more may be due: {trouble[0]}{more}", err=True)
        sys.exit(2)


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


def _line(entry: "DueEntry", now: datetime) -> str:
    from companion.job.words.sentences import sentence
    from companion.procedure.units import short

    late = now - entry.due
    over = late > timedelta()
    when = f"LATE by {short(late)}" if over else f"in {short(-late)}"
    what = entry.what if over else sentence(entry.running or entry.what)
    local = f"{entry.due.astimezone():%Y-%m-%d %H:%M}"
    return f"{local}  {when:18} {what}  {_about(entry.vehicle, entry.job)}"


def _about(vehicle: str, job: str) -> str:
    return f"({vehicle}, {job})" if vehicle else f"({job})"


def _plain(entry: "DueEntry", now: datetime) -> dict[str, object]:
    return {
        "due": entry.due.isoformat(),
        "late_s": max(0.0, round((now - entry.due).total_seconds(), 3)),
        "what": entry.what,
        "job": entry.job,
        "vehicle": entry.vehicle,
        "priority": entry.priority.name.lower(),
        "deadline": entry.deadline,
    }


def _write(path: Path, entries: "tuple[DueEntry, ...]", now: datetime) -> None:
    from companion.files import write_named
    from companion.papers.calendar import calendar_of

    write_named(path, calendar_of(entries, now))
