"""The critical path against a textbook network, and on a job with waits."""

from datetime import timedelta

from companion.labour.plan.critical_path import critical_path
from companion.labour.plan.project import Activity, Lag, Project


def minutes(number: float) -> timedelta:
    return timedelta(minutes=number)


def network(arrows: dict[tuple[int, int], int]) -> Project:
    """Activities as arrows between numbered events: each begins when all that end in its event are over."""
    return Project(
        tuple(Activity(f"{i}-{j}", minutes(length)) for (i, j), length in arrows.items()),
        tuple(Lag(f"{a}-{b}", f"{i}-{j}") for a, b in arrows for i, j in arrows if b == i),
    )


def test_a_textbook_network() -> None:
    # A published exercise with the arrows 1-2 7, 1-3 10, 2-4 6, 3-4 5, 3-5 4, 4-5 3, 5-6 2.
    arrows = {(1, 2): 7, (1, 3): 10, (2, 4): 6, (3, 4): 5, (3, 5): 4, (4, 5): 3, (5, 6): 2}
    found = critical_path(network(arrows))
    assert found.length == minutes(20)
    assert found.path == ("1-3", "3-4", "4-5", "5-6")
    assert found.slack["1-2"] == minutes(2)
    assert {name for name, slack in found.slack.items() if not slack} == {*found.path}
    assert found.slack["3-5"] == minutes(4), "worked out by hand: it may wait from 10 until 14"
    assert str(found) == (
        "With hands enough, day and night, it would still take 20 min: 4 of 7 steps and waits follow on one "
        "another without slack."
    )


def test_a_cure_is_on_the_path_and_other_work_has_slack() -> None:
    # Clean 10, seal 5, fit 8, cure 60, fill 6 make 89; the 20 beside them may begin up to 69 late.
    steps = {"clean": 10, "seal": 5, "fit": 8, "independent": 20, "fill": 6}
    cure = Lag("fit", "fill", minutes(60), because="sealant cures")
    lags = (Lag("clean", "seal"), Lag("seal", "fit"), cure)
    found = critical_path(Project(tuple(Activity(id_, minutes(n)) for id_, n in steps.items()), lags))
    assert found.length == minutes(89)
    assert found.path == ("clean", "seal", "fit", "fill")
    assert found.slack["independent"] == minutes(69)


def test_what_can_only_begin_later_counts_from_then() -> None:
    found = critical_path(Project((Activity("fill", minutes(6), earliest=minutes(30)),)))
    assert (found.length, found.slack["fill"]) == (minutes(36), minutes(0))


def test_nothing_to_do_takes_no_time() -> None:
    assert critical_path(Project(())).path == ()
