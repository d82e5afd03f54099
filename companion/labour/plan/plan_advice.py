"""What the mechanic should know of a plan, in sentences."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import groupby, pairwise

from companion.errors import LabourError
from companion.labour.plan.planner import Placed, Plan, make_plan, when
from companion.labour.plan.project import NOTHING, Lag
from companion.labour.table.hours import seconds_between
from companion.procedure.units import short

_WORTH_TELLING = timedelta(minutes=15)
"""A shorter idle stretch is of no use for other work."""
_REPLAN_S = 2.0


@dataclass(frozen=True)
class Wait:
    """A stretch of the plan in which something runs on without anybody."""

    because: str
    """Such as "sealant cures"."""
    begin: datetime
    least: timedelta
    end: datetime
    """When that begins which waited for it."""
    starter: Placed | None
    """The activity that started it. None for a wait that is a step itself."""


def waits(plan: Plan) -> tuple[Wait, ...]:
    """All waits of a plan, by their beginning: lags of some length, and steps that are waits."""
    found = [
        Wait(lag.because or "wait", plan[lag.before].end, lag.least, plan[lag.after].begin, plan[lag.before])
        for lag in plan.project.lags
        if lag.least > NOTHING
    ]
    for placed in plan.placed:
        if placed.mechanic is None and placed.activity.duration:
            found.append(Wait(str(placed), placed.begin, placed.activity.duration, placed.end, None))
    return tuple(sorted(found, key=lambda wait: (wait.begin, wait.end)))


def advice(plan: Plan) -> tuple[str, ...]:
    """The sentences, the most useful first: what to do before going home, and what must follow closely."""
    return tuple(
        dict.fromkeys(
            [
                *_before_going_home(plan),
                *_close_together(plan),
                *_meanwhile(plan),
                *_free_hands(plan),
                *_stop_early(plan),
                *_left_overnight(plan),
            ]
        )
    )


def _before_going_home(plan: Plan) -> Iterator[str]:
    """Waits that use a night, and what it costs to start them the next day."""
    for wait in waits(plan):
        if wait.starter is None or not _night(plan, wait.begin, wait.begin + wait.least):
            continue
        leaving = plan.hours_end(wait.begin)
        cost = _finish_if_left(plan, wait.starter, leaving)
        if cost is not None and cost > plan.finish:
            yield (
                f"{_sentence(wait.starter)} before you go home on {leaving:%A} (planned by "
                f"{wait.begin:%H:%M}): {wait.because} overnight. Left to the next day, "
                f"the job ends {when(cost)} instead of {when(plan.finish)}."
            )


def _finish_if_left(plan: Plan, starter: Placed, leaving: datetime) -> datetime | None:
    """The finish when an activity is left until everybody has gone home. None when that breaks a rule."""
    later = replace(starter.activity, earliest=timedelta(seconds=seconds_between(plan.start, leaving)))
    activities = tuple(later if a.id == later.id else a for a in plan.project.activities)
    try:
        project = replace(plan.project, activities=activities)
        return make_plan(project, plan.start, plan.hours, mechanics=plan.mechanics, limit_s=_REPLAN_S).finish
    except LabourError:
        return None


def _close_together(plan: Plan) -> Iterator[str]:
    for lag in plan.project.lags:
        if lag.most is not None:
            first, second = plan[lag.before], plan[lag.after]
            gap = second.begin - first.end
            planned = f"planned after {short(gap)}" if gap else "planned straight on"
            yield (
                f"{_sentence(first)} ({first.begin:%H:%M} {first.begin:%A}) only when you can go on: "
                f"{second} must begin within {short(lag.most)}{_why(lag)}; {planned}."
            )


def _why(lag: Lag) -> str:
    return f" ({lag.because})" if lag.because else ""


def _meanwhile(plan: Plan) -> Iterator[str]:
    told: set[str] = set()
    for wait in waits(plan):
        if wait.because in told:
            continue
        inside = [p for p in plan.placed if p.mechanic and p.begin >= wait.begin and p.end <= wait.end]
        if inside:
            told.add(wait.because)
            work = sum((p.activity.duration for p in inside), NOTHING)
            names = _listed([str(p) for p in inside])
            yield f"While {wait.because} ({short(wait.least)}): {names}, {short(work)} of work."


def _free_hands(plan: Plan) -> Iterator[str]:
    def waited_for(stretch: tuple[datetime, datetime]) -> str:
        return next((w.because for w in waits(plan) if w.begin <= stretch[0] and w.end >= stretch[1]), "")

    for because, together in groupby(idle(plan), key=waited_for):
        parts = list(together)
        begin, end = parts[0][0], parts[-1][1]
        free = sum((b - a for a, b in parts), NOTHING)
        until = f"{end:%H:%M}" if begin.date() == end.date() else f"{end:%A} {end:%H:%M}"
        within = " of working hours" if len(parts) > 1 else ""
        yield (
            f"Hands free {begin:%A} {begin:%H:%M} to {until}{f' while {because}' if because else ''}: "
            f"{short(free)}{within} for other work."
        )


def idle(plan: Plan, at_least: timedelta = _WORTH_TELLING) -> tuple[tuple[datetime, datetime], ...]:
    """Stretches of working time before the finish in which every mechanic is free."""
    found: list[tuple[datetime, datetime]] = []
    work = [p for p in plan.placed if p.mechanic]
    for begin, end in plan.stretches():
        free = begin
        for placed in work:
            if placed.begin >= end or placed.end <= begin:
                continue
            if placed.begin - free >= at_least:
                found.append((free, placed.begin))
            free = max(free, placed.end)
        if end - free >= at_least:
            found.append((free, end))
    return tuple(found)


def _stop_early(plan: Plan) -> Iterator[str]:
    """An activity that waits for the morning, only because it would not be finished by the evening."""
    work = [p for p in plan.placed if p.mechanic]
    for before, after in pairwise(work):
        if plan.mechanics > 1 or not _night(plan, before.end, after.begin):
            continue
        leaving = plan.hours_end(before.end)
        lags = [lag for lag in plan.project.lags if lag.after == after.activity.id]
        ready = max([before.end, *(plan[lag.before].end + lag.least for lag in lags)])
        if ready < leaving:
            yield (
                f"Stop on {before.end:%A} after {before} ({before.end:%H:%M}): {after} takes "
                f"{short(after.activity.duration)} and would not be finished by {leaving:%H:%M}."
            )


def _left_overnight(plan: Plan) -> Iterator[str]:
    for placed in plan.placed:
        if placed.mechanic and _night(plan, placed.begin, placed.end):
            length = short(placed.activity.duration)
            yield f"{_sentence(placed)} ({length}) is left overnight, half done, from {placed.begin:%A}."


def _night(plan: Plan, first: datetime, second: datetime) -> bool:
    start = plan.start
    return plan.calendar.night_between(seconds_between(start, first), seconds_between(start, second))


def _sentence(placed: Placed) -> str:
    name = str(placed)
    return name[:1].upper() + name[1:]


def _listed(names: Sequence[str], most: int = 5) -> str:
    shown = list(names[:most])
    if len(names) > most:
        shown[-1:] = [f"{len(names) - most + 1} more steps"]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
