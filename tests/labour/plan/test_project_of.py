"""A procedure as a project, and its plan."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from companion.errors import LabourError
from companion.labour.model.fit import prior
from companion.labour.plan.away import PartAway, what_it_buys
from companion.labour.plan.calendar import Split
from companion.labour.plan.finish import expected_times, finishes
from companion.labour.plan.plan_advice import advice, idle
from companion.labour.plan.planner import Plan, Solver, make_plan, when
from companion.labour.plan.project import Activity, Lag, Project
from companion.labour.plan.project_of import project_of
from companion.labour.table.hours import Hours
from companion.labour.table.task import labour_of
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure
from tests.helpers.waiting import PATIENCE

SHOP = Hours.parse("Mon-Fri 08:00-12:30 13:00-17:00")
MONDAY = datetime(2026, 3, 2, 8, 0)
SHIPPED = sorted((Path(__file__).parents[3] / "procedures").glob("*.yaml"))

RESEAL = Procedure.from_data(
    {
        "title": "Cover reseal",
        "revision": "1",
        "applies_to": ["Brackfell Ostler (invented)"],
        "source_of_torques": "Invented.",
        "consumables": {
            "sealant": {"name": "sealant", "product_class": "RTV", "skin_over": "10 min", "full_cure": "12 h",
                        "reference_temperature": 23, "reference_depth": 3}
        },
        "energy": {"battery": {"name": "the battery", "source": "battery", "wait": "5 min"}},
        "items": {"joint": {"name": "cover joint", "kind": "joint"}},
        "steps": [
            {"id": "isolate", "act": "isolate", "say": "Lead off.", "book": "3 min", "isolates": "battery"},
            {"id": "prove", "act": "verify", "say": "Measure.", "book": "1 min", "proves": "battery"},
            {"id": "remove-cover", "act": "remove", "say": "Cover off.", "book": "30 min", "opens": ["joint"],
             "needs_isolated": ["battery"]},
            {"id": "look-inside", "act": "inspect", "say": "Look.", "book": "20 min",
             "optional": "Look inside?"},
            {"id": "seal", "act": "apply", "say": "Seal.", "book": "5 min",
             "applies": {"consumable": "sealant"}},
            {"id": "fit-cover", "act": "fit", "say": "Fit.", "book": "15 min", "assembles": "seal",
             "closes": ["joint"]},
            {"id": "service-door", "act": "inspect", "say": "Door.", "book": "40 min", "after": []},
            {"id": "let-settle", "act": "wait", "say": "Wait.", "book": "5 min", "wait": "10 min",
             "after": ["fit-cover"]},
            {"id": "fill", "act": "fill", "say": "Fill.", "book": "6 min", "waits_for": ["fit-cover"]},
            {"id": "restore", "act": "restore", "say": "Lead on.", "book": "3 min", "restores": "battery"},
        ],
    }
)  # fmt: skip


def lag(project: Project, before: str, after: str) -> Lag:
    return next(one for one in project.lags if (one.before, one.after) == (before, after))


def test_steps_become_activities_with_everything_they_wait_for() -> None:
    project = project_of(RESEAL)
    assert "look-inside" not in project.index, "nobody wanted it"
    assert lag(project, "remove-cover", "seal").least == timedelta(), "what came before it still comes before"
    assert lag(project, "isolate", "prove").least == timedelta(minutes=5)
    assert lag(project, "seal", "fit-cover").most == timedelta(minutes=10)
    assert lag(project, "fit-cover", "fill").least == timedelta(hours=12)
    assert not project["let-settle"].occupies
    assert project["let-settle"].duration == timedelta(minutes=10)
    assert project["seal"].split is project["fit-cover"].split is Split.NEVER


def test_known_times_replace_the_book_and_a_cold_shop_lengthens_the_cure() -> None:
    project = project_of(RESEAL, {"fill": timedelta(minutes=9), "let-settle": timedelta(0)}, ambient_c=13)
    assert project["fill"].duration == timedelta(minutes=9)
    assert project["remove-cover"].duration == timedelta(minutes=30)
    assert project["let-settle"].duration == timedelta(minutes=10), "a wait is as long as it must be"
    assert lag(project, "fit-cover", "fill").least == timedelta(hours=24)


def test_dry_air_lengthens_a_cure_by_moisture_and_the_plan_ends_later() -> None:
    """Half the data sheet's humidity: twice the time. Without a humidity on the sheet: its time."""
    data = RESEAL.model_dump(mode="json", exclude_none=True)
    data["consumables"]["sealant"]["reference_humidity"] = 50
    moist = Procedure.from_data(data)
    assert lag(project_of(moist), "fit-cover", "fill").least == timedelta(hours=12)
    assert lag(project_of(moist, humidity=80), "fit-cover", "fill").least == timedelta(hours=12)
    assert lag(project_of(moist, humidity=25), "fit-cover", "fill").least == timedelta(hours=24)
    assert lag(project_of(moist, ambient_c=13, humidity=25), "fit-cover", "fill").least == timedelta(hours=48)
    assert lag(project_of(RESEAL, humidity=25), "fit-cover", "fill").least == timedelta(hours=12)
    soon, late = (make_plan(project_of(moist, humidity=h), MONDAY, SHOP) for h in (50, 25))
    assert late.finish > soon.finish
    assert late["fill"].begin - late["fit-cover"].end >= timedelta(hours=24)


def test_optional_steps_are_named_to_be_planned() -> None:
    assert "look-inside" in project_of(RESEAL, wanted={"look-inside"}).index
    with pytest.raises(LabourError, match=r"'fill' is not an optional step .* optional are: look-inside"):
        project_of(RESEAL, wanted={"fill"})


def test_what_is_left_of_a_started_job_remembers_its_running_waits() -> None:
    ago = dict.fromkeys(["isolate", "prove", "remove-cover"], timedelta(hours=1))
    sealed = project_of(RESEAL, done={**ago, "seal": timedelta(minutes=4)})
    assert sealed["fit-cover"].latest == timedelta(minutes=6)
    fitted = project_of(RESEAL, done={**ago, "seal": timedelta(hours=3), "fit-cover": timedelta(hours=2)})
    assert fitted["fill"].earliest == timedelta(hours=10)
    assert set(fitted.index) == {"service-door", "let-settle", "fill", "restore"}


def test_the_cure_runs_through_the_night_and_the_mechanic_is_told_to_seal_before_going_home() -> None:
    plan = make_plan(project_of(RESEAL), datetime(2026, 3, 2, 15, 0), SHOP)
    assert plan.proven
    assert plan["fit-cover"].end <= datetime(2026, 3, 2, 17, 0)
    assert plan.finish == datetime(2026, 3, 3, 8, 9), "filled at eight, lead on, done"
    told = advice(plan)
    assert told[0].startswith(
        "Fit cover before you go home on Monday (planned by 15:59): sealant cures overnight."
    )
    assert "Left to the next day, the job ends Wed 4 Mar 08:09 instead of Tue 3 Mar 08:09." in told[0]
    assert any("only when you can go on: fit cover must begin within 10 min" in one for one in told)


def test_independent_work_is_pulled_into_the_wait() -> None:
    plan = make_plan(project_of(RESEAL), datetime(2026, 3, 2, 15, 40), Hours.parse("Mon-Fri 08:00-18:00"))
    assert plan["service-door"].begin >= plan["fit-cover"].end
    assert any(
        one.startswith("While sealant cures (12 h): service door, 40 min of work") for one in advice(plan)
    )
    free = idle(plan)
    assert free == ((datetime(2026, 3, 2, 17, 19), datetime(2026, 3, 2, 18, 0)),)


def test_a_step_too_long_for_the_rest_of_the_day_waits_for_the_morning() -> None:
    project = Project(
        (Activity("short", timedelta(minutes=30)), Activity("long", timedelta(hours=4))),
        (Lag("short", "long"),),
    )
    plan = make_plan(project, datetime(2026, 3, 2, 14, 0), SHOP)
    assert plan["long"].begin == datetime(2026, 3, 3, 8, 0)
    assert "Stop on Monday after short (14:30): long takes 4 h and would not be finished by 17:00." in advice(
        plan
    )


def test_a_step_longer_than_any_day_is_left_overnight_and_says_so() -> None:
    plan = make_plan(Project((Activity("paint", timedelta(hours=12)),)), MONDAY, SHOP)
    assert plan.finish == datetime(2026, 3, 3, 11, 30)
    assert "Paint (12 h) is left overnight, half done, from Monday." in advice(plan)
    glue = Activity("glue", timedelta(hours=6), split=Split.NEVER)
    with pytest.raises(LabourError, match="glue fits no stretch of work"):
        make_plan(
            Project(
                (glue, Activity("close", timedelta(hours=1))), (Lag("glue", "close", most=timedelta(0)),)
            ),
            MONDAY,
            SHOP,
        )


def test_a_plan_that_cannot_be_is_refused_with_what_to_change() -> None:
    late = Activity("fit", timedelta(minutes=30), latest=timedelta(minutes=10))
    with pytest.raises(LabourError, match="no plan keeps every rule"):
        make_plan(
            Project((Activity("clean", timedelta(hours=1)), late), (Lag("clean", "fit"),)), MONDAY, SHOP
        )
    with pytest.raises(LabourError, match="give at least 1"):
        make_plan(Project(()), MONDAY, SHOP, mechanics=0)


def test_hands_free_over_days_are_told_once() -> None:
    steps = Activity("seal", timedelta(hours=1), split=Split.NEVER), Activity("fill", timedelta(hours=1))
    cure = Lag("seal", "fill", timedelta(hours=50), because="sealant cures")
    told = advice(make_plan(Project(steps, (cure,)), MONDAY, SHOP))
    free = [one for one in told if one.startswith("Hands free")]
    assert free == [
        "Hands free Monday 09:00 to Wednesday 11:00 while sealant cures: 19 h of working hours "
        "for other work."
    ]


def test_sending_a_part_out_is_weighed_against_the_wait() -> None:
    project = Project(
        tuple(
            Activity(id_, timedelta(hours=h))
            for id_, h in (("strip", 2), ("machine", 7), ("paint", 3), ("build", 4))
        ),
        (Lag("strip", "machine"), Lag("machine", "build"), Lag("strip", "paint")),
    )
    week = PartAway("cylinder head", "strip", "build", timedelta(days=7), 180, instead_of=["machine"])
    bought = what_it_buys(project, week, MONDAY, SHOP)
    assert bought.work_saved == timedelta(hours=7)
    assert bought.away["build"].begin == datetime(2026, 3, 9, 10, 0), "back a week after it went"
    assert bought.later == bought.away.finish - bought.here.finish > timedelta(days=4)
    assert str(bought).startswith(
        "Sending out the cylinder head costs 180, saves 7 h of work here: finish Mon 9 Mar 14:30,"
    )
    with pytest.raises(LabourError, match="no step 'weld'"):
        what_it_buys(project, PartAway("head", "strip", "weld", timedelta(days=1)), MONDAY, SHOP)


def test_when_it_will_end_follows_from_how_long_steps_may_take() -> None:
    plan = make_plan(project_of(RESEAL), MONDAY, SHOP)
    assert finishes(plan, [{}]) == [plan.finish]
    slow = finishes(plan, [{"restore": timedelta(minutes=m)} for m in (3, 13)])
    assert slow[1] - slow[0] == timedelta(minutes=10)


def test_a_plan_not_proven_in_time_says_how_much_earlier_it_could_be() -> None:
    hard = Project(tuple(Activity(f"a{n}", timedelta(minutes=7 + n * n % 23)) for n in range(40)))
    own = make_plan(hard, MONDAY, SHOP, mechanics=3, solver=Solver.OWN, limit_s=0)
    assert own.bound < own.finish
    assert f"not proven: at best {when(own.bound)}" in own.verdict()
    both = make_plan(hard, MONDAY, SHOP, mechanics=3, limit_s=0.5)
    assert own.bound <= both.bound <= both.finish <= own.finish


def test_two_mechanics_are_never_slower_and_each_does_one_thing_at_a_time() -> None:
    alone, pair = (make_plan(project_of(RESEAL), MONDAY, SHOP, mechanics=n) for n in (1, 2))
    assert pair.finish <= alone.finish
    assert {p.mechanic for p in pair.placed} == {1, 2, None}


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_procedures_are_planned_to_the_proven_optimum(path: Path) -> None:
    procedure = read_procedure(path)
    wanted = frozenset(step.id for step in procedure.steps if step.optional)
    project = project_of(procedure, wanted=wanted)
    plan = make_plan(project, MONDAY, SHOP, solver=Solver.OWN, limit_s=PATIENCE)
    assert plan.proven
    other = make_plan(project, MONDAY, SHOP, solver=Solver.CP_SAT, limit_s=20)
    assert other.bound <= plan.finish <= other.finish, "equal when CP-SAT proves its own in time"
    assert plan.waited_out is None or plan.finish <= plan.waited_out
    assert_follows(procedure, plan)


def assert_follows(procedure: Procedure, plan: Plan) -> None:
    for placed in plan.placed:
        for before in procedure.predecessors(placed.activity.id):
            assert plan[before].end <= placed.begin


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_nothing_is_left_half_tightened_or_half_lowered_over_lunch(path: Path) -> None:
    procedure = read_procedure(path)
    project, told_so = project_of(procedure), project_of(procedure, half_done=True)
    supports = {i for i, e in procedure.energy.items() if e.source == "vehicle support"}
    grave = [
        s.id
        for s in procedure.steps
        if s.id in project.index
        and (any(f.tightening for f in s.fasteners) or {s.isolates, s.restores} & supports)
    ]
    assert len(grave) > 3
    assert {project[id_].split for id_ in grave} == {Split.NEVER}
    assert Split.BREAKS in {told_so[id_].split for id_ in grave}


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_with_nothing_logged_the_plan_is_by_the_book(path: Path) -> None:
    procedure = read_procedure(path)
    assert expected_times(procedure, prior()) == {t.step: t.book for t in labour_of(procedure)}
