"""Which step comes before which."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.procedure.model import Procedure
from companion.procedure.order import Order, ancestors, find_cycle, ready, topological

Read = Callable[[str], Procedure]


def procedure_of(after: list[list[int] | None]) -> Procedure:
    """Steps named s0, s1 ... with those predecessors (None: the step before in the file)."""
    steps = [
        {"id": f"s{n}", "act": "clean", "say": "x", "book": "1 min"}
        | ({} if before is None else {"after": [f"s{b}" for b in before]})
        for n, before in enumerate(after)
    ]
    front = {"title": "t", "revision": "1", "applies_to": ["a"], "source_of_torques": "invented"}
    return Procedure.from_data(front | {"steps": steps})


@st.composite
def shuffled(draw: st.DrawFn) -> Procedure:
    """Procedures without a ring, in which a step may stand in the file before its predecessors."""
    size = draw(st.integers(1, 9))
    place = draw(st.permutations(range(size)))
    after: list[list[int] | None] = [[] for _ in range(size)]
    for rank in range(size):
        after[place[rank]] = [place[before] for before in range(rank) if draw(st.booleans())]
    return procedure_of(after)


@given(shuffled())
def test_every_step_comes_after_its_predecessors(procedure: Procedure) -> None:
    order = topological(procedure)
    assert sorted(order) == sorted(step.id for step in procedure.steps)
    for step_id in order:
        assert all(order.index(before) < order.index(step_id) for before in procedure.predecessors(step_id))


@given(shuffled())
def test_working_through_what_is_ready_does_every_step_once(procedure: Procedure) -> None:
    done: list[str] = []
    while free := ready(procedure, set(done)):
        assert all(ancestors(procedure)[step_id] <= set(done) for step_id in free)
        done.append(free[-1])
    assert sorted(done) == sorted(step.id for step in procedure.steps)


def test_without_after_the_file_order_rules() -> None:
    procedure = procedure_of([None, None, None])
    assert topological(procedure) == ("s0", "s1", "s2")
    assert ready(procedure, set()) == ("s0",)
    assert ready(procedure, {"s0"}) == ("s1",)


def test_branches_are_ready_together_in_file_order() -> None:
    procedure = procedure_of([None, [0], [0], [1, 2]])
    assert ready(procedure, {"s0"}) == ("s1", "s2")
    assert ready(procedure, {"s0", "s2"}) == ("s1",)
    assert ancestors(procedure)["s3"] == {"s0", "s1", "s2"}


def test_a_ring_is_found() -> None:
    procedure = procedure_of([[], [0, 3], [1], [2]])
    ring = find_cycle(procedure)
    assert ring[0] == ring[-1]
    assert set(ring) == {"s1", "s2", "s3"}
    with pytest.raises(ValueError, match="in a ring"):
        topological(procedure)


def test_conditions_reach_through_optional_steps(read: Read, small: str) -> None:
    order = Order(read(small))
    assert order.conditions("wipe") == order.conditions("look") == {"look"}
    assert order.conditions("spread") == frozenset()
