"""What a plan proposes is walked by the job: no step is refused when its turn comes."""

import random
from collections.abc import Iterable
from datetime import datetime, timedelta
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said.questions import StepWanted
from companion.labour.plan.calendar import Calendar
from companion.labour.plan.planner import horizon, make_plan
from companion.labour.plan.project import Project
from companion.labour.plan.project_of import project_of
from companion.labour.plan.timing import Timing
from companion.labour.table.hours import Hours
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure
from tests.job.conftest import START, Mechanic

FOLDER = Path(__file__).parents[3] / "procedures"
PROCEDURES = [read_procedure(path) for path in sorted(FOLDER.glob("*.yaml"))]
MONDAY = datetime(2026, 3, 2, 8, 0)
SHOP = Hours.parse("Mon-Fri 08:00-12:30 13:00-17:00")
ORDERS = 15

Planned = tuple[str, timedelta, timedelta]
"""A step, and when it begins and ends, from the start of the plan."""


class Walker(Mechanic):
    """Begins and ends each step when it is planned, or as soon after as a proof that was lost allows."""

    def walk(self, plan: Iterable[Planned]) -> None:
        self.planned = list(plan)
        self.opens()
        moments = []
        for n, (_, begin, end) in enumerate(self.planned):
            moments += [(begin, 1, n), (end, 0 if end > begin else 2, n)]
        for moment, when, n in sorted(moments):
            step = self.planned[n][0]
            ahead = START + moment - self.now.wall
            self.waits(seconds=max(ahead, timedelta()).total_seconds())
            self._answers()
            self._takes_up(step)
            while when != 1 and step not in self.state.settled:
                self._gives()

    def _answers(self) -> None:
        while self.state.question or self.state.to_prove:
            self._gives()

    def _takes_up(self, step: str) -> None:
        if step in (self.state.current, *self.state.settled):
            return
        before = len(self.happened(ev.Refused))
        said = self.says(Command.STEP, number=str(self.procedure.number(step)))
        assert len(self.happened(ev.Refused)) == before, (step, said)
        self._answers()

    def _gives(self) -> None:
        question = self.state.question
        if isinstance(question, StepWanted) and question.step not in {step for step, _, _ in self.planned}:
            self.says(Command.NO)
            return
        self.obliges()


def walked(procedure: Procedure, plan: Iterable[Planned]) -> set[str]:
    """The steps that the job has done in the order of the plan."""
    walker = Walker(procedure)
    walker.walk(plan)
    return {event.step for event in walker.happened(ev.StepDone)}


def in_some_order(project: Project, chance: random.Random) -> list[Planned] | None:
    """A plan that keeps every rule of the project, in an order nobody chose; None when no such order fits."""
    rules = TopologicalSorter({activity.id: set[str]() for activity in project.activities})
    for lag in project.lags:
        rules.add(lag.after, lag.before)
    rules.prepare()
    free: list[str] = []
    order: list[int] = []
    while rules.is_active():
        free += rules.get_ready()
        step = free.pop(chance.randrange(len(free)))
        rules.done(step)
        order.append(project.index[step])
    timing = Timing(project, Calendar(SHOP, MONDAY, horizon(project)))
    times = timing.in_order([i for i in order if timing.occupies[i]])
    if times is None:
        return None
    places = zip(project.activities, times.start, times.end, strict=True)
    planned = [(a.id, timedelta(seconds=begin), timedelta(seconds=end)) for a, begin, end in places]
    return sorted(planned, key=lambda one: one[1:])


@pytest.mark.parametrize("all_wanted", [True, False], ids=["with all that is optional", "without"])
@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda procedure: procedure.title)
class TestTheJobRefusesNoStep:
    def test_of_the_plan(self, procedure: Procedure, all_wanted: bool) -> None:
        wanted = frozenset(step.id for step in procedure.steps if step.optional and all_wanted)
        plan = make_plan(project_of(procedure, wanted=wanted), MONDAY, SHOP, limit_s=1)
        planned = [(p.activity.id, p.begin - MONDAY, p.end - MONDAY) for p in plan.placed]
        assert walked(procedure, planned) == set(plan.project.index)

    def test_of_any_order_that_a_plan_may_take(self, procedure: Procedure, all_wanted: bool) -> None:
        """Which of many plans is found is chance: so none that keeps the rules may be refused."""
        wanted = frozenset(step.id for step in procedure.steps if step.optional and all_wanted)
        project = project_of(procedure, wanted=wanted)
        chance = random.Random(procedure.title)
        found = [plan for _ in range(ORDERS) if (plan := in_some_order(project, chance))]
        assert len(found) > ORDERS / 3, "too few to show anything"
        for planned in found:
            assert walked(procedure, planned) == set(project.index)
