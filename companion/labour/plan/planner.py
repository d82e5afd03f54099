"""The plan: the best order that was found, when each thing falls, and how good it is for certain."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum

from companion.errors import LabourError
from companion.labour.plan import cpsat
from companion.labour.plan.calendar import Calendar, Split
from companion.labour.plan.project import NOTHING, Activity, Project
from companion.labour.plan.search import Found, Search, serial
from companion.labour.plan.timing import Times, Timing
from companion.labour.table.hours import Hours, later, seconds_between
from companion.procedure.units import short

_WORTH_HURRYING_S = 30 * 60
_HURRY_LIMIT_S = 1.0


class Solver(StrEnum):
    """What looks for the best order."""

    AUTO = "auto"
    """Our own search. When it runs out of time, CP-SAT goes on from its result, if OR-tools is installed."""
    OWN = "own"
    CP_SAT = "cp-sat"


@dataclass(frozen=True)
class Placed:
    """An activity and when it falls."""

    activity: Activity
    begin: datetime
    end: datetime
    mechanic: int | None
    """The number of the mechanic, from 1. None for a wait."""

    def __str__(self) -> str:
        return str(self.activity)


@dataclass(frozen=True)
class Plan:
    """A plan that keeps every rule."""

    project: Project
    hours: Hours
    start: datetime
    mechanics: int
    placed: tuple[Placed, ...]
    """The activities, by their beginning."""
    bound: datetime
    """No plan can finish before this."""
    waited_out: datetime | None
    """When the job would end if every wait were waited out with idle hands. None when that breaks a rule."""
    solver: Solver
    calendar: Calendar
    _places: Mapping[str, int] = field(init=False, repr=False, compare=False)

    @property
    def finish(self) -> datetime:
        """When the last activity ends."""
        return max((p.end for p in self.placed), default=self.start)

    @property
    def proven(self) -> bool:
        """Whether no earlier finish is possible."""
        return self.bound >= self.finish

    @property
    def order(self) -> tuple[str, ...]:
        """The ids of the activities that need a mechanic, by their beginning."""
        return tuple(p.activity.id for p in self.placed if p.mechanic)

    def __getitem__(self, id_: str) -> Placed:
        """Where the activity of that id falls. KeyError if there is none."""
        return self.placed[self._places[id_]]

    def __post_init__(self) -> None:
        object.__setattr__(self, "_places", {p.activity.id: n for n, p in enumerate(self.placed)})

    def stretches(self) -> tuple[tuple[datetime, datetime], ...]:
        """The stretches of working hours from the start to the finish."""
        finish = seconds_between(self.start, self.finish)
        pairs = zip(self.calendar.begins, self.calendar.ends, strict=True)
        return tuple(
            (later(self.start, b), later(self.start, min(e, finish))) for b, e in pairs if b < finish
        )

    def hours_end(self, moment: datetime) -> datetime:
        """When everybody goes home on the working day of that moment; at night, on the day before."""
        return later(self.start, self.calendar.going_home(seconds_between(self.start, moment)))

    def held_until(self, placed: Placed) -> datetime | None:
        """When the longest wait ends that this activity starts, such as a cure. None when it starts none."""
        lags = [lag.least for lag in self.project.lags if lag.before == placed.activity.id]
        longest = max(lags, default=NOTHING)
        return later(placed.end, round(longest.total_seconds())) if longest else None

    def verdict(self) -> str:
        """The finish and how good it is, with the bound, in one line."""
        told = f"finish {when(self.finish)}"
        if self.proven:
            return f"{told}; proven earliest (bound {when(self.bound)})"
        gap = short(self.finish - self.bound)
        return f"{told}; not proven: at best {when(self.bound)}, {gap} earlier"


def when(moment: datetime) -> str:
    """Such as "Mon 2 Mar 16:40"."""
    return f"{moment:%a} {moment.day} {moment:%b} {moment:%H:%M}"


def make_plan(
    project: Project,
    start: datetime,
    hours: Hours,
    *,
    mechanics: int = 1,
    solver: Solver = Solver.AUTO,
    limit_s: float = 10.0,
) -> Plan:
    """Plan a project for the earliest finish.

    Args:
        start: nothing falls before it. It is local time; with a zone, clock changes are allowed for.
        mechanics: how many there are, all alike, each on one activity at a time.
        limit_s: the search stops after so many seconds and tells the gap.

    Raises:
        LabourError: no plan keeps every rule, or CP-SAT was asked for and is not installed.
    """
    if mechanics < 1:
        raise LabourError(f"{mechanics} mechanics cannot do the work; give at least 1")
    calendar = Calendar(hours, start, horizon(project))
    project = _fitting(project, calendar)
    timing = Timing(project, calendar, mechanics)
    found = _solve(timing, solver, limit_s)
    if found.times is None:
        raise LabourError(_why_not(project, found))
    order = _order(timing, _longest_wait_first(timing, found.times))
    times = timing.in_order(order) or found.times
    if mechanics == 1:
        _close_up(timing, times, order)
    waited = serial(timing, [i for i in range(timing.count) if timing.occupies[i]])
    return Plan(
        project,
        hours,
        start,
        mechanics,
        _place(timing, times, start),
        later(start, found.bound),
        later(start, max(waited.end, default=0)) if waited else None,
        solver,
        calendar,
    )


def horizon(project: Project) -> int:
    """The working seconds within which any sensible plan ends. Each activity may waste the rest of a day."""
    waits = sum((a.duration for a in project.activities if not a.occupies), NOTHING)
    lags = sum((lag.least for lag in project.lags), NOTHING)
    latest = max((a.earliest for a in project.activities), default=NOTHING)
    return int((2 * project.work + waits + lags + latest + timedelta(days=1)).total_seconds())


def _fitting(project: Project, calendar: Calendar) -> Project:
    """The project, with activities that no working day can hold split over nights.

    Raises:
        LabourError: such an activity must not be left.
    """

    def fits(activity: Activity) -> bool:
        length = round(activity.duration.total_seconds())
        return not (activity.occupies and length) or bool(calendar.place(0, length, activity.split))

    for lag in project.lags:
        if lag.most is not None and not fits(project[lag.before]):
            raise LabourError(
                f"{project[lag.before]} fits no stretch of work and must not be left; lengthen the hours"
            )
    return replace(
        project,
        activities=tuple(a if fits(a) else replace(a, split=Split.NIGHTS) for a in project.activities),
    )


def _solve(timing: Timing, solver: Solver, limit_s: float) -> Found:
    if solver is Solver.CP_SAT:
        return cpsat.solve(timing, limit_s)
    found = Search(timing, limit_s).run()
    if found.proven or solver is Solver.OWN or not cpsat.available():
        return found
    other = cpsat.solve(timing, limit_s, found.times)
    best = min((one for one in (found, other) if one.times), key=lambda one: one.finish, default=found)
    return replace(best, bound=max(found.bound, min(other.bound, best.finish)))


def _why_not(project: Project, found: Found) -> str:
    if not found.proven:
        return "no plan was found in the time given; allow more time"
    limits = [(lag.most, lag) for lag in project.lags if lag.most is not None]
    what = ""
    if limits:
        lag = min(limits, key=lambda limit: limit[0])[1]
        what = f", such as {project[lag.after]} soon enough after {project[lag.before]}"
    return f"no plan keeps every rule{what}; allow steps to be split, or change the hours or the start"


def _longest_wait_first(timing: Timing, times: Times) -> Times:
    """Among plans that finish no later, the one that starts the longest wait earliest, in case of trouble."""
    waits = [(least, i) for i in range(timing.count) for _, least in timing.after[i] if timing.occupies[i]]
    longest, starter = max(waits, default=(0, 0))
    if longest < _WORTH_HURRYING_S:
        return times
    search = Search(timing, _HURRY_LIMIT_S, goal=starter, within=max(times.end))
    return search.run(times).times or times


def _order(timing: Timing, times: Times) -> list[int]:
    work = [i for i in range(timing.count) if timing.occupies[i]]
    return sorted(work, key=lambda i: (times.start[i], times.end[i], i))


def _close_up(timing: Timing, times: Times, order: Sequence[int]) -> None:
    """Move what must be followed closely nearer to its follower, as far as that moves nothing else."""
    for place, i in enumerate(order):
        if timing.limited[i]:
            after = [times.start[j] - least for j, least in timing.after[i]] + [
                times.start[j] for j in order[place + 1 : place + 2]
            ]
            latest = min(after, default=times.end[i]) - timing.length[i]
            moved = timing.place(i, latest) if latest > times.start[i] else None
            if moved and moved[0] == latest:
                times.start[i], times.end[i] = moved


def _place(timing: Timing, times: Times, start: datetime) -> tuple[Placed, ...]:
    free = [0] * timing.mechanics
    placed = []
    for i in sorted(range(timing.count), key=lambda i: (times.start[i], times.end[i], i)):
        who = None
        if timing.occupies[i]:
            who = next(n for n, until in enumerate(free) if until <= times.start[i])
            free[who] = times.end[i]
        placed.append(
            Placed(
                timing.project.activities[i],
                later(start, times.start[i]),
                later(start, times.end[i]),
                None if who is None else who + 1,
            )
        )
    return tuple(placed)
