"""What is due over all jobs: all that waits, and follow-ups by distance, which no clock can tell. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass

from companion.job.closing import follow_up_text
from companion.job.state import State
from companion.reminders.calendar import DueEntry


@dataclass(frozen=True)
class ByDistance:
    """A follow-up of a closed job that is due after a distance, whatever the calendar says."""

    what: str
    """As in "Retorque the wheel bolts, after 50 km or 7 days, whichever comes first"."""
    distance_km: int
    job: str
    vehicle: str = ""


@dataclass(frozen=True)
class Due:
    """What is due, over any number of jobs."""

    entries: tuple[DueEntry, ...]
    """By time, the soonest first; some may be overdue."""
    by_distance: tuple[ByDistance, ...]
    """In the order of the jobs. Those with a time too are also in `entries`."""


def due_over(jobs: Iterable[State]) -> Due:
    """What is due over these jobs, open or closed, each as `read_job` tells it."""
    entries: list[DueEntry] = []
    distances: list[ByDistance] = []
    for state in jobs:
        entries += entries_of(state)
        distances += _distances(state)
    return Due(
        tuple(sorted(entries, key=lambda entry: (entry.due, entry.job, entry.deadline))), tuple(distances)
    )


def entries_of(state: State) -> list[DueEntry]:
    """The unsettled deadlines of one job."""
    return [
        DueEntry(d.what, d.due, state.job or "", state.vehicle, d.priority, d.id)
        for d in state.deadlines.values()
    ]


def _distances(state: State) -> list[ByDistance]:
    if not state.closed:
        return []
    return [
        ByDistance(follow_up_text(f), f.distance_km, state.job or "", state.vehicle)
        for f in state.procedure.follow_ups
        if f.distance_km
    ]
