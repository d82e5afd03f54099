"""The search is exact: against a case worked out by hand, against CP-SAT, and against the rules."""

from datetime import datetime, timedelta

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from companion.errors import LabourError
from companion.labour.plan import cpsat
from companion.labour.plan.calendar import Calendar, Split
from companion.labour.plan.critical_path import critical_path
from companion.labour.plan.project import Activity, Lag, Project
from companion.labour.plan.search import Search, serial
from companion.labour.plan.timing import Times, Timing
from companion.labour.table.hours import Hours
from tests.helpers.waiting import PATIENCE

SHOP = Hours.parse("Mon-Fri 08:00-12:30 13:00-17:00; Sat 08:00-12:00")
MONDAY = datetime(2026, 3, 2, 8, 0)
ALWAYS = Hours.parse("Mon-Sun 00:00-24:00")
CP_SAT_S = 5.0


def minutes(number: float) -> timedelta:
    return timedelta(minutes=number)


LAG_CASE = Project(
    (
        Activity("clean", minutes(10)),
        Activity("seal", minutes(5), split=Split.NEVER),
        Activity("fit", minutes(8)),
        Activity("independent", minutes(20)),
        Activity("fill", minutes(6)),
    ),
    (
        Lag("clean", "seal"),
        Lag("seal", "fit", most=minutes(10), because="sealant skins over"),
        Lag("fit", "fill", minutes(60), because="sealant cures"),
    ),
)


def test_the_lag_case_worked_out_by_hand() -> None:
    # Clean 10, seal 5, fit 8, cure 60, fill 6: 89, with the 20 inside the cure. All in a row: 109.
    timing = Timing(LAG_CASE, Calendar(ALWAYS, MONDAY, 86400))
    found = Search(timing, PATIENCE).run()
    assert (found.finish, found.bound, found.proven) == (89 * 60, 89 * 60, True)
    assert found.times is not None
    assert 15 * 60 <= found.times.start[2] <= 25 * 60, "fitted within ten minutes of sealing"
    waited = serial(timing, range(5))
    assert waited is not None
    assert max(waited.end) == 109 * 60
    assert cpsat.solve(timing, PATIENCE).finish == 89 * 60


def test_with_hands_enough_the_finish_is_the_critical_path() -> None:
    lengths = {"a": 7, "b": 10, "c": 6, "d": 5, "e": 4, "f": 3, "g": 2}
    after = {"c": ["a"], "d": ["b"], "e": ["b"], "f": ["c", "d"], "g": ["e", "f"]}
    project = Project(
        tuple(Activity(id_, minutes(length)) for id_, length in lengths.items()),
        tuple(Lag(before, id_) for id_, befores in after.items() for before in befores),
    )
    calendar = Calendar(ALWAYS, MONDAY, 86400)
    crowd = Search(Timing(project, calendar, mechanics=7), PATIENCE).run()
    assert crowd.finish == critical_path(project).length.total_seconds()
    alone = Search(Timing(project, calendar), PATIENCE).run()
    assert alone.finish == sum(lengths.values()) * 60


def test_sealing_waits_when_the_fit_would_come_only_after_the_night() -> None:
    """Nothing may be sealed at half past four when the sump cannot go on before the morning."""
    project = Project(
        (
            Activity("clean", minutes(500)),
            Activity("seal", minutes(5), split=Split.NEVER),
            Activity("fit", minutes(30), split=Split.NEVER),
        ),
        (Lag("clean", "seal"), Lag("seal", "fit", most=minutes(10))),
    )
    timing = Timing(project, Calendar(SHOP, MONDAY, 5 * 86400))
    found = Search(timing, PATIENCE).run()
    assert found.times is not None
    tuesday = 24 * 3600
    assert found.times.end[0] == 9 * 3600 - 600, "cleaned ten minutes before the end of the day"
    assert found.times.start[1] >= tuesday - 600, "not sealed on Monday: fitting takes thirty minutes"
    assert found.finish == cpsat.solve(timing, PATIENCE).finish


def test_a_search_stopped_early_tells_an_honest_bound() -> None:
    """Three mechanics, forty jobs of odd lengths: too much to prove in no time at all."""
    project = Project(tuple(Activity(f"a{n}", minutes(7 + n * n % 23)) for n in range(40)))
    timing = Timing(project, Calendar(SHOP, MONDAY, 20 * 86400), mechanics=3)
    found = Search(timing, limit_s=0.0).run()
    assert found.times is not None, "a first plan is always found"
    assert found.bound <= cpsat.solve(timing, 2, found.times).finish <= found.finish


def test_lags_that_contradict_one_another_are_refused_before_any_search() -> None:
    steps = (
        Activity("seal", minutes(5), split=Split.NEVER),
        Activity("clean", minutes(20)),
        Activity("fit", minutes(8)),
    )
    with pytest.raises(LabourError, match="fit must start within 10 min of seal") as refused:
        Project(steps, (Lag("seal", "fit", most=minutes(10)), Lag("seal", "clean"), Lag("clean", "fit")))
    assert "20 min of other work" in str(refused.value)
    with pytest.raises(LabourError, match="nothing can start"):
        Project(steps, (Lag("seal", "fit"), Lag("fit", "seal")))


@st.composite
def timings(draw: st.DrawFn) -> Timing:
    """Small projects with lags, longest lags, waits, releases and every kind of split."""
    count = draw(st.integers(1, 7))
    lags, sources = [], set()
    for j in range(count):
        for i in range(j):
            if draw(st.integers(0, 3)) == 0:
                least = draw(st.sampled_from([0, 0, 30, 120, 600]))
                most = draw(st.sampled_from([None, None, least + 5, least + 60, least + 300]))
                if most is not None:
                    sources.add(i)
                lags.append(Lag(f"a{i}", f"a{j}", minutes(least), None if most is None else minutes(most)))
    activities = tuple(
        Activity(
            f"a{j}",
            minutes(draw(st.sampled_from([0, 3, 10, 40, 90, 200]))),
            draw(st.integers(0, 5)) > 0,
            Split.NEVER if j in sources else draw(st.sampled_from(list(Split))),
            minutes(draw(st.sampled_from([0, 0, 0, 100]))),
            draw(st.sampled_from([None] * 9 + [minutes(400)])),
        )
        for j in range(count)
    )
    try:
        project = Project(activities, tuple(lags))
    except LabourError:
        project = Project(activities)
    start = MONDAY + timedelta(days=draw(st.integers(0, 6)), hours=draw(st.integers(-2, 9)))
    hours = draw(st.sampled_from([SHOP, SHOP, ALWAYS]))
    return Timing(
        project, Calendar(hours, start, draw(st.sampled_from([1, 2, 4])) * 86400), draw(st.integers(1, 3))
    )


@settings(max_examples=120)
@given(timings())
def test_the_search_finds_what_cp_sat_finds(timing: Timing) -> None:
    """Where CP-SAT proves nothing in its few seconds, ours must lie between its bound and its best."""
    ours, theirs = Search(timing, PATIENCE).run(), cpsat.solve(timing, CP_SAT_S)
    event(f"proven by CP-SAT: {theirs.proven}")
    assert ours.proven
    assert theirs.bound <= ours.finish <= theirs.finish, "equal when proven"
    for found in (ours, theirs):
        if found.times is not None:
            keeps_every_rule(timing, found.times)
            assert max(found.times.end) == found.finish


def keeps_every_rule(timing: Timing, times: Times) -> None:
    """Checked from the project's own words, without the code under test."""
    project = timing.project
    start = dict(zip(project.index, times.start, strict=True))
    end = dict(zip(project.index, times.end, strict=True))
    for lag in project.lags:
        gap = start[lag.after] - end[lag.before]
        assert gap >= lag.least.total_seconds()
        assert lag.most is None or gap <= lag.most.total_seconds()
    stretches = list(zip(timing.calendar.begins, timing.calendar.ends, strict=True))
    busy = []
    for activity in project.activities:
        begin, finish = start[activity.id], end[activity.id]
        length = activity.duration.total_seconds()
        assert begin >= activity.earliest.total_seconds()
        assert activity.latest is None or begin <= activity.latest.total_seconds()
        if not activity.occupies or not length:
            assert finish - begin == length
            continue
        busy.append((begin, finish))
        shares = [min(e, finish) - max(b, begin) for b, e in stretches if b < finish and begin < e]
        assert sum(shares) == length, "exactly its length, in working hours"
        if activity.split is Split.NEVER:
            assert len(shares) == 1
    for begin, _ in busy:
        assert sum(b <= begin < e for b, e in busy) <= timing.mechanics
