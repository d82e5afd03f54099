"""Critical paths and three-point estimates against textbook networks."""

import pytest

from companion.errors import LabourError
from companion.labour.plan.critical_path import ThreePoint, critical_path, events, from_arrows, pert


def test_a_textbook_critical_path() -> None:
    # A published exercise with the arrows 1-2 7, 1-3 10, 2-4 6, 3-4 5, 3-5 4, 4-5 3, 5-6 2.
    arrows = {(1, 2): 7, (1, 3): 10, (2, 4): 6, (3, 4): 5, (3, 5): 4, (4, 5): 3, (5, 6): 2}
    found = critical_path(*from_arrows(arrows))
    assert found.length == 20
    assert events(found.path) == (1, 3, 4, 5, 6)
    assert found.times["1-2"].slack == 2
    assert {name for name, times in found.times.items() if times.slack == 0} == {"1-3", "3-4", "4-5", "5-6"}
    # Worked out by hand from the latest finishes: 3-5 may wait until 14.
    assert (found.times["3-5"].latest_start, found.times["3-5"].latest_finish) == (14, 18)


def test_a_textbook_pert_network() -> None:
    # Published three-point estimates of seven activities whose critical path is 1-3-5-7; where the source's
    # drawing does not say how the other three hang together, they hang so that they stay off that path.
    guesses = {
        "1": ThreePoint(5, 8, 17),
        "2": ThreePoint(7, 10, 13),
        "3": ThreePoint(3, 5, 7),
        "4": ThreePoint(1, 3, 5),
        "5": ThreePoint(4, 6, 8),
        "6": ThreePoint(3, 3, 3),
        "7": ThreePoint(3, 4, 5),
    }
    after = {"3": ["1"], "4": ["1"], "5": ["3", "2"], "6": ["4"], "7": ["5", "6"]}
    found = pert(guesses, after)
    assert found.path == ("1", "3", "5", "7")
    assert found.mean == pytest.approx(24)
    assert found.variance == pytest.approx(5.0)
    assert found.at_most(28) == pytest.approx(0.963, abs=5e-4)


def test_sure_guesses_leave_no_doubt() -> None:
    found = pert({"a": ThreePoint(4, 4, 4)}, {})
    assert (found.at_most(3.9), found.at_most(4)) == (0, 1)


def test_activities_in_a_ring_are_named() -> None:
    with pytest.raises(LabourError, match="waits for"):
        critical_path({"a": 1, "b": 1}, {"a": ["b"], "b": ["a"]})


def test_nothing_to_do_takes_no_time() -> None:
    assert critical_path({}, {}).length == 0
