"""What holds each step back while it is open, worked out once for a procedure.

A step that belongs to the closing of something waits for all that is reached through it. A step that fills,
bleeds, puts under pressure or runs a circuit waits for all that would let the fluid out. Where the order of
the file itself puts the step first, the order is taken at its word, and `check` asks the file to say so.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from companion.procedure.holds.belonging import closings
from companion.procedure.holds.circuits import acts_on, lets_out, restores_pressure, runs_engine
from companion.procedure.holds.reach import Opening, Reach
from companion.procedure.model import Act, Procedure, Step
from companion.procedure.order import Order

Waits = dict[str, set[Opening]]
"""Step -> what it waits for while that is open."""


@dataclass(frozen=True)
class Contradiction:
    """The order puts a step first that should wait."""

    step: str
    opening: Opening
    closer: str
    """The step that closes the opening."""
    hider: str = ""
    """What the step closes; empty where it acts on a circuit."""
    by: str = ""
    """The item through which it hides it; `hider` itself when it does so directly."""
    ring: bool = False
    """Not one step before another, but several that wait for one another."""


@dataclass(frozen=True)
class Holds:
    """What each step of a procedure waits for."""

    buries: Mapping[str, frozenset[Opening]]
    """Step -> what it would close over."""
    presses: Mapping[str, frozenset[Opening]]
    """Step -> what it would fill, bleed or run while open."""
    closed_by: Mapping[Opening, str | None]
    """Opening -> the step that puts it right."""
    behind: Mapping[str, frozenset[str]]
    """Item -> the items that are reached through it."""
    contradictions: tuple[Contradiction, ...]


def holds_of(procedure: Procedure) -> Holds:
    """What holds back what; worked out once for each procedure."""
    return procedure.once(_holds)


def leaves_loose(step: Step) -> bool:
    """Does skipping the step leave something loose or unfilled that no item of the ledger stands for?"""
    settles = step.closes or step.restores or step.isolates or step.proves or step.optional
    tightens = step.act in (Act.FIT, Act.CONNECT, Act.TIGHTEN) and any(f.tightening for f in step.fasteners)
    return not settles and (tightens or step.act is Act.FILL)


def _holds(procedure: Procedure) -> Holds:
    order = Order(procedure)
    reach = Reach(order)
    found = _Finder(order, reach)
    found.find()
    found.untangle()
    loose = {Opening("", step.id): step.id for step in procedure.steps if leaves_loose(step)}
    return Holds(
        {step: frozenset(waits) for step, waits in found.buries.items()},
        {step: frozenset(waits) for step, waits in found.presses.items()},
        {**reach.closed_by, **loose},
        _behind(reach),
        tuple(found.contradictions),
    )


def _behind(reach: Reach) -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for opening in reach.closed_by:
        for hider in reach.through(opening):
            found.setdefault(hider, set()).add(opening.item)
    return {hider: frozenset(items) for hider, items in found.items()}


class _Finder:
    """Finds what waits for what, and where the order says otherwise."""

    def __init__(self, order: Order, reach: Reach) -> None:
        self.order = order
        self.reach = reach
        self.closings = closings(order)
        self.buries: Waits = {step.id: set() for step in order.steps}
        self.presses: Waits = {step.id: set() for step in order.steps}
        self.contradictions: list[Contradiction] = []

    def find(self) -> None:
        for opening in self.reach.closed_by:
            self._burying(opening)
        for step in self.order.steps:
            self._pressing(step)
            if leaves_loose(step):
                self._loose(step)

    def _burying(self, opening: Opening) -> None:
        hidden_by = self.reach.through(opening)
        for step in self.order.steps:
            if self._may_be_open(opening, step):
                for closing in sorted(self.closings[step.id]):
                    still = not self.order.before(closing.step, opening.step)
                    if closing.item in hidden_by and still:
                        own = closing.step == step.id
                        why = (closing.item, hidden_by[closing.item]) if own else None
                        self._hold(self.buries, step, opening, why)

    def _pressing(self, step: Step) -> None:
        circuits = acts_on(self.order.procedure, step)
        if circuits is None:
            return
        for opening in self.reach.closed_by:
            item = self.order.procedure.items[opening.item]
            if lets_out(item, circuits) and self._may_be_open(opening, step):
                self._hold(self.presses, step, opening, ("", ""))

    def _may_be_open(self, opening: Opening, step: Step) -> bool:
        """Can it be open when the step is done, though the file does not allow it?"""
        by_itself = step.id == opening.step or opening.item in (*step.closes, *step.leaves_open)
        return not by_itself and not self.order.before(step.id, opening.step)

    def _hold(self, waits: Waits, step: Step, opening: Opening, why: tuple[str, str] | None) -> None:
        """The step waits, unless it must come first; `why` is what to tell of that, if anything."""
        closer = self.reach.closed_by[opening]
        if closer is None or not self.order.before(step.id, closer):
            waits[step.id].add(opening)
        elif why is not None:
            self.contradictions.append(Contradiction(step.id, opening, closer, *why))

    def _loose(self, loose: Step) -> None:
        """What a skipped tightening or filling holds back: the closing over it, and its circuit."""
        opening = Opening("", loose.id)
        mine = self.closings[loose.id]
        hidden_by = {item for closing in mine for item in self._hiding(loose, closing.item)}
        circuits = acts_on(self.order.procedure, loose)
        leaks = {c.item for c in mine} if circuits is None else set()
        for step in self.order.steps:
            if step.id == loose.id or self.order.before(step.id, loose.id):
                continue
            if any(closing.item in hidden_by for closing in self.closings[step.id]):
                self.buries[step.id].add(opening)
            if self._would_act(step, circuits, leaks):
                self.presses[step.id].add(opening)

    def _hiding(self, loose: Step, item: str) -> Iterator[str]:
        """What is closed over the item of the loose step, and that item itself when it is closed later."""
        for opening, closer in self.reach.closed_by.items():
            if opening.item == item and closer and self.order.before(opening.step, loose.id):
                yield from self.reach.through(opening)
                if self.order.before(loose.id, closer):
                    yield item

    def _would_act(self, step: Step, filled: frozenset[str] | None, leaks: set[str]) -> bool:
        """Does the step put under pressure or run what was not filled, or what is not tight?"""
        procedure = self.order.procedure
        circuits = acts_on(procedure, step)
        if circuits is None:
            return False
        if filled is not None:
            runs = restores_pressure(procedure, step) or runs_engine(step)
            return runs and (not filled or not circuits or bool(filled & circuits))
        return any(lets_out(procedure.items[item], circuits) for item in leaks)

    def untangle(self) -> None:
        """Drop the waits that make steps wait for one another in a ring, and keep them as contradictions."""
        while ring := self._ring():
            for place, step in enumerate(ring[1:]):
                closer = ring[place]
                for waits in (self.buries, self.presses):
                    for opening in sorted(waits[step]):
                        if self._closer(opening) == closer:
                            waits[step].discard(opening)
                            self.contradictions.append(Contradiction(step, opening, closer, ring=True))

    def _closer(self, opening: Opening) -> str | None:
        return self.reach.closed_by[opening] if opening.item else opening.step

    def _ring(self) -> list[str]:
        """Steps each of which must come before the next, first one repeated; empty if there is none."""
        procedure = self.order.procedure
        graph = {
            step.id: {
                *procedure.predecessors(step.id),
                *(c for o in (*self.buries[step.id], *self.presses[step.id]) if (c := self._closer(o))),
            }
            for step in self.order.steps
        }
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            return [*error.args[1]]
        return []
