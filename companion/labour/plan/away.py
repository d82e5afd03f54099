"""Work that is sent out, in the plan: a part goes away for days while the rest waits or goes on."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from companion.errors import LabourError
from companion.labour.plan.planner import Plan, make_plan, when
from companion.labour.plan.project import Lag, Project
from companion.labour.table.hours import Hours
from companion.procedure.units import short


@dataclass(frozen=True)
class PartAway:
    """A part that is sent to somebody else."""

    what: str
    """Such as "calliper"."""
    after: str
    """The activity after which it can go."""
    before: str
    """The activity that needs it back."""
    lead: timedelta
    """How long it is away, by the calendar."""
    cost: float = 0.0
    """What the others ask, in the shop's currency."""
    instead_of: Collection[str] = ()
    """The activities that then need not be done here."""


def with_part_away(project: Project, part: PartAway) -> Project:
    """The project with the part sent out.

    Raises:
        LabourError: there is no activity of a given id, or the part would be needed back before it goes.
    """
    for id_ in (part.after, part.before, *part.instead_of):
        if id_ not in project.index:
            raise LabourError(f"{part.what} sent out: there is no step {id_!r}; name steps by their id")
    dropped = set(part.instead_of)
    if dropped & {part.after, part.before}:
        raise LabourError(
            f"{part.what} sent out: it goes after and comes back before steps that are still done"
        )
    lags = list(project.lags)
    for gone in dropped:
        before = [lag for lag in lags if lag.after == gone]
        after = [lag for lag in lags if lag.before == gone]
        lags = [lag for lag in lags if gone not in (lag.before, lag.after)]
        lags += [Lag(b.before, a.after) for b in before for a in after]
    lags.append(Lag(part.after, part.before, part.lead, because=f"{part.what} is away"))
    kept = tuple(a for a in project.activities if a.id not in dropped)
    return replace(project, activities=kept, lags=tuple(dict.fromkeys(lags)))


@dataclass(frozen=True)
class Bought:
    """What sending a part out changes."""

    part: PartAway
    here: Plan
    """The plan with everything done in the shop."""
    away: Plan
    """The plan with the part sent out."""

    @property
    def later(self) -> timedelta:
        """How much later the job finishes. It is negative when it finishes earlier."""
        return self.away.finish - self.here.finish

    @property
    def work_saved(self) -> timedelta:
        """The working time that is not spent in the shop."""
        return self.here.project.work - self.away.project.work

    def __str__(self) -> str:
        """What the money and the wait buy, in one sentence."""
        if self.later > timedelta():
            change = f"{short(self.later)} later"
        elif self.later:
            change = f"{short(-self.later)} earlier"
        else:
            change = "as early as without"
        saved = f", saves {short(self.work_saved)} of work here" if self.work_saved else ""
        return (
            f"Sending out the {self.part.what} costs {self.part.cost:g}{saved}: "
            f"finish {when(self.away.finish)}, {change} ({short(self.part.lead)} away)."
        )


def what_it_buys(
    project: Project,
    part: PartAway,
    start: datetime,
    hours: Hours,
    *,
    mechanics: int = 1,
    limit_s: float = 10.0,
) -> Bought:
    """Plan both ways and compare.

    Raises:
        LabourError: as `make_plan` and `with_part_away`.
    """
    here = make_plan(project, start, hours, mechanics=mechanics, limit_s=limit_s)
    away = make_plan(with_part_away(project, part), start, hours, mechanics=mechanics, limit_s=limit_s)
    return Bought(part, here, away)
