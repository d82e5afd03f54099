"""Which step comes before which. Pure; built on the predecessors that the model tells."""

import heapq
from collections.abc import Set
from graphlib import CycleError, TopologicalSorter

from companion.procedure.model import Procedure


def find_cycle(procedure: Procedure) -> tuple[str, ...]:
    """Step ids that wait for one another in a ring, first one repeated at the end; empty if none.

    Every predecessor must be a known step.
    """
    graph = {step.id: procedure.predecessors(step.id) for step in procedure.steps}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return tuple(error.args[1])
    return ()


def topological(procedure: Procedure) -> tuple[str, ...]:
    """All step ids, each after its predecessors, otherwise in file order.

    Raises:
        ValueError: the procedure has a cycle.
    """
    followers: dict[str, list[str]] = {step.id: [] for step in procedure.steps}
    missing: dict[str, int] = {}
    for step in procedure.steps:
        predecessors = set(procedure.predecessors(step.id))
        missing[step.id] = len(predecessors)
        for predecessor in predecessors:
            followers[predecessor].append(step.id)
    free = [procedure.number(step_id) for step_id, count in missing.items() if not count]
    ordered: list[str] = []
    while free:
        step_id = procedure.steps[heapq.heappop(free) - 1].id
        ordered.append(step_id)
        for follower in followers[step_id]:
            missing[follower] -= 1
            if not missing[follower]:
                heapq.heappush(free, procedure.number(follower))
    if len(ordered) < len(procedure.steps):
        raise ValueError("the steps wait for one another in a ring")
    return tuple(ordered)


def ancestors(procedure: Procedure) -> dict[str, frozenset[str]]:
    """For each step, every step that must come before it, directly or not.

    Raises:
        ValueError: the procedure has a cycle.
    """
    before: dict[str, frozenset[str]] = {}
    for step_id in topological(procedure):
        direct = procedure.predecessors(step_id)
        before[step_id] = frozenset(direct).union(*(before[predecessor] for predecessor in direct))
    return before


def ready(procedure: Procedure, done: Set[str]) -> tuple[str, ...]:
    """Steps not in `done` whose predecessors all are, in file order.

    `done` holds every step that is behind: done, skipped or not wanted. Gates (isolation, cure,
    seals) are not looked at here.
    """
    return tuple(
        step.id
        for step in procedure.steps
        if step.id not in done and all(one in done for one in procedure.predecessors(step.id))
    )


class Order:
    """Precedence of one procedure without cycles, worked out once."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.steps = tuple(procedure.step(step_id) for step_id in topological(procedure))
        """In an order in which they can be done."""
        self._before = ancestors(procedure)

    def before(self, first: str, second: str) -> bool:
        """Must `first` always come before `second`?"""
        return first in self._before[second]

    def conditions(self, step_id: str) -> frozenset[str]:
        """Optional steps that must have been wanted for this step to be done at all."""
        wanted: set[str] = set()
        step = self.procedure.step(step_id)
        while True:
            if step.optional is not None:
                wanted.add(step.id)
            if step.only_if is None or step.only_if in wanted:
                return frozenset(wanted)
            wanted.add(step.only_if)
            step = self.procedure.step(step.only_if)
