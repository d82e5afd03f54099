"""What a second opinion remembers of a job: folded from its events by its own rules."""

import copy
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Self

from companion.job.facts.commands import Command
from companion.procedure.model import Procedure, Step
from tests.benchmarks.safety.leaving import Leaving
from tests.benchmarks.safety.over_open import OverOpen
from tests.benchmarks.safety.waits import Waits


@dataclass
class Heard:
    """What the mechanic said to cause the present turn, and what had been read back just before."""

    command: Command | None = None
    arguments: dict[str, str] = field(default_factory=dict)
    read_back: tuple[str, str] | None = None


@dataclass
class Memory:
    """Where one job stands, as far as its events tell."""

    procedure: Procedure
    heard: Heard = field(default_factory=Heard)
    items: dict[str, str] = field(default_factory=dict)
    items_closed: dict[str, dict[str, str]] = field(default_factory=dict)
    left: dict[str, tuple[str, dict[str, str]]] = field(default_factory=dict)
    """Items left out for good: who opened each, and the old seals that went with it."""
    loose: dict[str, bool] = field(default_factory=dict)
    """Skipped steps that would have tightened or filled: were they left so for good?"""
    leaving: Leaving = field(default_factory=Leaving)
    over: OverOpen = field(init=False)
    old_seals: dict[str, str] = field(default_factory=dict)
    seals_mended: dict[str, dict[str, str]] = field(default_factory=dict)
    isolated_since: dict[str, timedelta] = field(default_factory=dict)
    not_restored: set[str] = field(default_factory=set)
    proved: set[str] = field(default_factory=set)
    done_at: dict[str, timedelta] = field(default_factory=dict)
    settled: set[str] = field(default_factory=set)
    current: str | None = None
    counted: int = 0
    stage: int = 0
    new_fasteners: set[str] = field(default_factory=set)
    good_reading: bool = False
    waits: Waits = field(default_factory=Waits)
    closed: bool = False
    early: timedelta = timedelta(milliseconds=1)
    """How much of a wait may be wanting: nothing, but for machines that were off, whose clocks tell less."""
    not_needed: set[str] = field(default_factory=set)
    read_back: tuple[str, str] | None = None
    """The value and unit that wait for "yes"."""
    put_by: tuple[str, str] | None = None
    """The same, while it is asked whether to stop the work."""

    def __post_init__(self) -> None:
        self.over = OverOpen(self.procedure)

    def copy(self) -> Self:
        """The same opinion, to go another way."""
        other = copy.copy(self)
        for name, value in vars(self).items():
            if isinstance(value, dict | set):
                setattr(other, name, value.copy())
        other.waits = self.waits.copy()
        other.items_closed = {id_: items.copy() for id_, items in self.items_closed.items()}
        other.seals_mended = {id_: seals.copy() for id_, seals in self.seals_mended.items()}
        return other

    def _done(self, step: Step, time: timedelta) -> None:
        for item in {*step.opens, *step.closes} & set(self.left):
            self._open_again(item)
        for item in step.opens:
            self.items[item] = step.id
        self.items_closed[step.id] = {i: self.items.pop(i) for i in step.closes if i in self.items}
        for seal in step.disturbs:
            self.old_seals[seal] = step.id
        if step.isolates:
            self.not_restored.add(step.isolates)
            self.proved.discard(step.isolates)
            self.isolated_since[step.isolates] = time
        if step.restores:
            self.not_restored.discard(step.restores)
            self.proved.discard(step.restores)
        self.done_at[step.id] = time
        self._settle(step.id)
        self.waits.over(
            f"wait:{step.id}", f"skin-over:{step.assembles}", f"skin-over:{step.assembles}:warning"
        )

    def _settle(self, step_id: str) -> None:
        self.settled.add(step_id)
        if self.current == step_id:
            self.current, self.counted, self.stage, self.good_reading = None, 0, 0, False
            self.new_fasteners = set()

    def _not_done(self, step_id: str) -> None:
        step = self._step(step_id)
        self._forget_waits(step)
        self._settle(step_id)
        if step.optional or step.only_if:
            self.items = {i: by for i, by in self.items.items() if by != step_id}
            self.old_seals = {s: by for s, by in self.old_seals.items() if by != step_id}
            self.left = {i: left for i, left in self.left.items() if left[0] != step_id}

    def _open_again(self, item: str) -> None:
        self.items[item], seals = self.left.pop(item)
        self.old_seals |= seals

    def _undone(self, step: Step) -> None:
        self.settled.discard(step.id)
        self.not_needed.discard(step.id)
        self.loose.pop(step.id, None)
        self._forget_waits(step)
        if self.done_at.pop(step.id, None) is None:
            return
        self.items |= self.items_closed.pop(step.id, {})
        self.old_seals |= self.seals_mended.pop(step.id, {})
        for energy in (step.isolates, step.proves, step.restores):
            self.proved.discard(energy or "")
        if step.isolates:
            self.not_restored.discard(step.isolates)
        if step.restores:
            self.not_restored.add(step.restores)

    def _forget_waits(self, step: Step) -> None:
        ids = [f"cure:{step.id}", f"skin-over:{step.id}", f"skin-over:{step.id}:warning", f"wait:{step.id}"]
        self.waits.over(*ids, f"isolation-wait:{step.isolates}")

    def _mended(self, seal: str) -> None:
        by = next(s.id for s in self.procedure.steps if seal in s.renews and s.id == self.current)
        if seal in self.old_seals:
            self.seals_mended.setdefault(by, {})[seal] = self.old_seals.pop(seal)

    def _step(self, step_id: str) -> Step:
        return self.procedure.step(step_id)
