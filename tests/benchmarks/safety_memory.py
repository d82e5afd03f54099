"""What a second opinion on a job remembers: what was heard, and what was logged, worked out anew.

It shares no code with the gates, the ledger or the folding. It keeps its own time, which nobody can set.
"""

import copy
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Self

from companion.job.facts.commands import Command
from companion.procedure.model import Measure, Procedure, Step

SLACK = timedelta(seconds=2.001)
"""Clocks that disagree by less are taken to agree; a jump smaller than this may go unnoticed."""


URGENT = ("timer:", "wait:", "skin-over:", "log")
"""Deadlines that are repeated until somebody acknowledges them; the others are said once."""


class UnsafeError(AssertionError):
    """Something happened that must never happen."""


@dataclass
class Expected:
    """A deadline, in time that nobody can set."""

    due: timedelta
    announced: int = 0


@dataclass
class Heard:
    """What the mechanic said to cause the present turn, and what had been read back just before."""

    command: Command | None = None
    arguments: dict[str, str] = field(default_factory=dict)
    read_back: tuple[str, str] | None = None


def check(holds: bool, what: str) -> None:
    """It must be so."""
    if not holds:
        raise UnsafeError(what)


@dataclass
class Remembered:
    """One job, as it must stand. `time` is what really passed since the job began."""

    procedure: Procedure
    heard: Heard = field(default_factory=Heard)
    items: dict[str, str] = field(default_factory=dict)
    items_closed: dict[str, dict[str, str]] = field(default_factory=dict)
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
    deadlines: dict[str, Expected] = field(default_factory=dict)
    closed: bool = False
    early: timedelta = timedelta(milliseconds=1)
    """How much of a wait may be wanting: nothing, but for machines that were off, whose clocks tell less."""
    not_needed: set[str] = field(default_factory=set)
    waiting_since: dict[str, timedelta] = field(default_factory=dict)
    read_back: tuple[str, str] | None = None
    """The value and unit that wait for "yes"."""
    put_by: tuple[str, str] | None = None
    """The same, while it is asked whether to stop the work."""

    def copy(self) -> Self:
        """The same opinion, to go another way."""
        other = copy.copy(self)
        for name, value in vars(self).items():
            if isinstance(value, dict | set):
                setattr(other, name, value.copy())
        other.deadlines = {id_: copy.copy(deadline) for id_, deadline in self.deadlines.items()}
        other.items_closed = {id_: items.copy() for id_, items in self.items_closed.items()}
        other.seals_mended = {id_: seals.copy() for id_, seals in self.seals_mended.items()}
        return other

    def _done(self, step: Step, time: timedelta) -> None:
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
        self.deadlines.pop(f"wait:{step.id}", None)
        for id_ in (f"skin-over:{step.assembles}", f"skin-over:{step.assembles}:warning"):
            self.deadlines.pop(id_, None)

    def _settle(self, step_id: str) -> None:
        self.settled.add(step_id)
        if self.current == step_id:
            self.current, self.counted, self.stage, self.good_reading = None, 0, 0, False
            self.new_fasteners = set()

    def _left_out(self, step_id: str, skipped: bool) -> None:
        step = self.procedure.step(step_id)
        if skipped:
            check(not (step.isolates or step.proves or step.wait), f"{step_id} must not be skipped")
        else:
            check(bool(step.optional or step.only_if), f"{step_id} was declined but is needed")
            self.not_needed.add(step_id)
        self._forget_waits(step)
        self._settle(step_id)
        if step.optional or step.only_if:
            self.items = {i: by for i, by in self.items.items() if by != step_id}
            self.old_seals = {s: by for s, by in self.old_seals.items() if by != step_id}

    def _undone(self, step: Step) -> None:
        self.settled.discard(step.id)
        self.not_needed.discard(step.id)
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
        for id_ in [*ids, f"isolation-wait:{step.isolates}"]:
            self.deadlines.pop(id_, None)

    def _mended(self, seal: str) -> None:
        by = next(s.id for s in self.procedure.steps if seal in s.renews and s.id == self.current)
        if seal in self.old_seals:
            self.seals_mended.setdefault(by, {})[seal] = self.old_seals.pop(seal)

    def _said(self, words: str) -> bool:
        return self.heard.command is Command.STATE and self.heard.arguments.get("state") == words

    def _limits_of(self, step_id: str) -> Measure | None:
        step = self.procedure.step(step_id)
        prove = self.procedure.energy[step.proves].prove if step.proves else None
        return prove or step.measure

    def _reading(self, limits: Measure | None) -> bool:
        """Was a value within the limits said, read back in the right unit, and confirmed by "yes"?"""
        if limits is None or self.heard.command is not Command.YES or self.heard.read_back is None:
            return False
        value, unit = float(self.heard.read_back[0]), self.heard.read_back[1]
        value = abs(value) if unit == "V" else value
        low = float("-inf") if limits.at_least is None else limits.at_least
        high = float("inf") if limits.at_most is None else limits.at_most
        return unit == limits.unit and low <= value <= high
