"""A second opinion on what would be closed over, filled, bled or run while something is open.

Worked out from the file by its own rules, step by step and thing by thing; nothing is shared with the gates.
It takes the file at its word, so the file must be without fault.
"""

from collections.abc import Iterator, Mapping, Set

from companion.procedure.model import Procedure, Step
from tests.benchmarks.safety.unsafe import check

WET = {"port", "hose", "joint", "fluid"}
RUNNING = ("start the engine", "run the engine", "idle", "road test")


def leaves_loose(step: Step) -> bool:
    """Skipped, does it leave bolts loose or a circuit unfilled, with no item to stand for that?"""
    tightens = step.act in ("fit", "connect", "tighten") and any(f.torque or f.stages for f in step.fasteners)
    otherwise = step.closes or step.restores or step.isolates or step.proves or step.optional
    return not otherwise and (tightens or step.act == "fill")


class OverOpen:
    """What each step of one procedure must not be done over."""

    def __init__(self, procedure: Procedure) -> None:
        self.steps = {step.id: step for step in procedure.steps}
        self.procedure = procedure
        self._earlier: dict[str, frozenset[str]] = {}
        self._order = self._file_order()
        self._behind: dict[tuple[str, str], frozenset[str]] = {}
        self.covers = {id_: frozenset(self._covers(step)) for id_, step in self.steps.items()}

    def earlier(self, step_id: str) -> frozenset[str]:
        """All that must come before a step."""
        if step_id not in self._earlier:
            direct = self.procedure.predecessors(step_id)
            self._earlier[step_id] = frozenset(direct).union(*map(self.earlier, direct))
        return self._earlier[step_id]

    def _covers(self, step: Step) -> Iterator[str]:
        """Items that the step closes, or takes part in closing."""
        mine = set(step.closes)
        for seal in step.renews:
            joint = self.procedure.seals[seal].joint
            if any(joint in s.closes and step.id in {*self.earlier(s.id), s.id} for s in self.steps.values()):
                mine.add(joint or "")
        if step.applies:
            mine |= {item for s in self.steps.values() if s.assembles == step.id for item in s.closes}
        if not mine and step.act in ("fit", "apply", "tighten"):
            mine |= self._neighbour(step)
        yield from mine

    def _neighbour(self, step: Step) -> set[str]:
        """What the last closing before a tightening closes; for the others, the first one after."""
        if step.act == "tighten":
            near = [id_ for id_ in self._order if self.steps[id_].closes and id_ in self.earlier(step.id)]
            return set(self.steps[near[-1]].closes) if near else set()
        near = [id_ for id_ in self._order if self.steps[id_].closes and step.id in self.earlier(id_)]
        return set(self.steps[near[0]].closes) if near else set()

    def _file_order(self) -> list[str]:
        """Steps as they can be done: each after all before it, the first in the file first."""
        done: list[str] = []
        left = [step.id for step in self.procedure.steps]
        while left:
            free = next(id_ for id_ in left if self.earlier(id_) <= set(done))
            done.append(free)
            left.remove(free)
        return done

    def hidden_by(self, item: str, opener: str) -> frozenset[str]:
        """Items through which this one was reached when that step opened it."""
        if (item, opener) not in self._behind:
            self._behind[item, opener] = frozenset()
            named = self.procedure.items[item].reached_through
            found = {
                (name, by) for name, by in self._open_around(item, opener) if named is None or name in named
            }
            further = [self.hidden_by(name, by) for name, by in found]
            self._behind[item, opener] = frozenset({name for name, _ in found}.union(*further)) - {item}
        return self._behind[item, opener]

    def _open_around(self, item: str, opener: str) -> Iterator[tuple[str, str]]:
        before = self.earlier(opener)
        for by in before:
            for name in self.steps[by].opens:
                again = [s.id for s in self.steps.values() if name in s.closes and by in self.earlier(s.id)]
                if name != item and not before & set(again):
                    yield name, by

    # Whether a step may be worked on

    def watch(
        self, step_id: str, items: Mapping[str, str], left: Mapping[str, str], loose: Mapping[str, bool]
    ) -> None:
        """`items`, and what is `left` out for good, with their openers; `loose` steps, and if for good."""
        step = self.steps[step_id]
        for item, opener in items.items():
            if self._counts(step, item, opener):
                over = self.covers[step_id] & self.hidden_by(item, opener)
                check(not over, f"{step_id} hides {item}, which is open, by {sorted(over)}")
        for item, opener in {**items, **left}.items():
            if self._counts(step, item, opener):
                check(not self._lets_out(step, item), f"{step_id} acts on {item}, which is open")
        for skipped, for_good in loose.items():
            if skipped != step_id and step_id not in self.earlier(skipped):
                check(
                    for_good or not self._hides_loose(step, skipped), f"{step_id} hides what {skipped} left"
                )
                check(not self._runs_loose(step, skipped), f"{step_id} acts on what {skipped} left")

    def _counts(self, step: Step, item: str, opener: str) -> bool:
        """Is the item's being open no part of what the step does, and not what the order itself asks for?"""
        if item in (*step.closes, *step.leaves_open) or step.id == opener or step.id in self.earlier(opener):
            return False
        closers = [s.id for s in self.steps.values() if item in s.closes and opener in self.earlier(s.id)]
        first = min(closers, key=lambda id_: len(self.earlier(id_)), default=None)
        return first is None or step.id not in self.earlier(first)

    def _lets_out(self, step: Step, item: str) -> bool:
        thing, circuits = self.procedure.items[item], self.acts_on(step)
        return circuits is not None and thing.kind.called in WET and self._same(thing.circuit, circuits)

    def _same(self, circuit: str | None, circuits: Set[str]) -> bool:
        return circuit is None or not circuits or circuit in circuits

    def acts_on(self, step: Step) -> Set[str] | None:
        """Circuits; none named is any; None when the step acts on none."""
        energy = self.procedure.energy.get(step.restores or "")
        pressure = energy if energy and energy.source.presses else None
        words = f"{step.say} {step.more or ''}".lower()
        runs = any(w in words for w in RUNNING) if step.runs_engine is None else step.runs_engine
        bleeds = step.circuits is None and "bleed the" in words
        if not (step.act == "fill" or step.circuits or pressure or runs or bleeds):
            return None
        named = set(step.circuits or ()) | ({pressure.circuit} if pressure and pressure.circuit else set())
        any_of_them = not step.circuits and (step.act == "fill" or runs or bleeds)
        return set() if any_of_them else named

    def _hides_loose(self, step: Step, skipped: str) -> bool:
        hidden = set()
        for item in self.covers[skipped]:
            for by in self.earlier(skipped):
                if item in self.steps[by].opens:
                    hidden |= self.hidden_by(item, by)
                    later = [s for s in self.steps.values() if item in s.closes and by in self.earlier(s.id)]
                    hidden |= {item} if any(skipped in self.earlier(s.id) for s in later) else set()
        return bool(self.covers[step.id] & hidden)

    def _runs_loose(self, step: Step, skipped: str) -> bool:
        circuits, filled = self.acts_on(step), self.acts_on(self.steps[skipped])
        if circuits is None:
            return False
        if filled is None:
            return any(self._lets_out(step, item) for item in self.covers[skipped])
        energy = self.procedure.energy.get(step.restores or "")
        words = step.say.lower()
        runs = any(w in words for w in RUNNING) if step.runs_engine is None else step.runs_engine
        strong = runs or (energy is not None and energy.source.presses)
        return strong and (not filled or not circuits or bool(set(filled) & set(circuits)))
