"""What is due over all jobs: all that waits, and follow-ups that no clock can tell. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from companion.job.facts.ids import follow_up_id
from companion.job.facts.state import State
from companion.job.turns.end_of_job import follow_up_text
from companion.papers.ics import DueEntry


@dataclass(frozen=True)
class Undated:
    """A follow-up of a closed job, not done yet, that a distance or heat cycles make due, not a date."""

    what: str
    """As in "Retorque the wheel bolts, after 50 km or 7 days, whichever comes first"."""
    job: str
    vehicle: str = ""
    distance_km: int | None = None
    heat_cycles: int | None = None
    dated: DueEntry | None = None
    """It has a day too, or a day to ask: then it is also among the entries."""

    def when(self) -> str:
        """ "after the next heat cycle", "at 100 km"."""
        if self.heat_cycles:
            return "after a heat cycle" if self.heat_cycles == 1 else f"after {self.heat_cycles} heat cycles"
        return f"at {self.distance_km} km"


@dataclass(frozen=True)
class Due:
    """What is due, over any number of jobs."""

    entries: tuple[DueEntry, ...]
    """By time, the soonest first; some may be overdue."""
    undated: tuple[Undated, ...]
    """In the order of the jobs. Those with a time too are also in `entries`."""


def due_over(jobs: Iterable[State]) -> Due:
    """What is due over these jobs, open or closed, each as `read_job` tells it."""
    entries: list[DueEntry] = []
    undated: list[Undated] = []
    for state in jobs:
        entries += entries_of(state)
        undated += _undated(state)
    return Due(
        tuple(sorted(entries, key=lambda entry: (entry.due, entry.job, entry.deadline))), tuple(undated)
    )


def entries_of(state: State) -> list[DueEntry]:
    """The unsettled deadlines of one job."""
    return [
        DueEntry(d.what, d.due, state.job or "", state.vehicle, d.priority, d.id, d.name)
        for d in state.deadlines.values()
    ]


def _undated(state: State) -> list[Undated]:
    if not state.closed:
        return []
    dated = {entry.deadline: entry for entry in entries_of(state)}
    return [
        Undated(
            follow_up_text(f),
            state.job or "",
            state.vehicle,
            f.distance_km,
            f.heat_cycles,
            dated.get(follow_up_id(number)),
        )
        for number, f in enumerate(state.procedure.follow_ups, start=1)
        if (f.distance_km or f.heat_cycles) and follow_up_id(number) not in state.followed_up
    ]


@dataclass(frozen=True)
class OfVehicle:
    """What is due on one vehicle; or of one job, where no vehicle was told."""

    vehicle: str
    """Empty where none was told."""
    job: str
    """The first of them."""
    entries: tuple[DueEntry, ...]
    undated: tuple[Undated, ...]
    """Those without any day."""


def by_vehicle(due: Due, until: datetime | None = None) -> tuple[OfVehicle, ...]:
    """Each thing once, by vehicle: the vehicle with the soonest first, then those with nothing dated.

    Args:
        until: what is due later is left out (`later_than` has it). What has no day at all stays.
    """
    soon = [e for e in due.entries if until is None or e.due <= until]
    dayless = [u for u in due.undated if u.dated is None]
    found: dict[tuple[str, str], list[DueEntry | Undated]] = {}
    every: list[DueEntry | Undated] = [*soon, *dayless]
    for one in every:
        name = " ".join(one.vehicle.casefold().split())
        found.setdefault((name, "" if name else one.job), []).append(one)
    return tuple(
        OfVehicle(
            these[0].vehicle,
            these[0].job,
            tuple(one for one in these if isinstance(one, DueEntry)),
            tuple(one for one in these if isinstance(one, Undated)),
        )
        for these in found.values()
    )


def later_than(due: Due, until: datetime) -> tuple[DueEntry, ...]:
    """What is due after a moment, the soonest first."""
    return tuple(entry for entry in due.entries if entry.due > until)
