"""A second opinion on a job: what must never happen, worked out anew from what was heard and what was logged.

It shares no code with the gates, the ledger or the folding. It keeps its own time, which nobody can set.
"""

import copy
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from companion.job.facts import events as ev
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


@dataclass
class Oracle:
    """Follows one job. `time` is what really passed since the job began."""

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

    def copy(self) -> "Oracle":
        """The same opinion, to go another way."""
        other = copy.copy(self)
        for name, value in vars(self).items():
            if isinstance(value, dict | set):
                setattr(other, name, value.copy())
        other.deadlines = {id_: copy.copy(deadline) for id_, deadline in self.deadlines.items()}
        other.items_closed = {id_: items.copy() for id_, items in self.items_closed.items()}
        other.seals_mended = {id_: seals.copy() for id_, seals in self.seals_mended.items()}
        return other

    def listen(self, command: Command | None, arguments: Mapping[str, str]) -> None:
        """The mechanic says something (None: a message that is nobody's words)."""
        self.heard = Heard(command, dict(arguments), self.read_back)

    def see(self, event: ev.Event, time: timedelta, wall: datetime) -> None:
        """Check one event, then remember what it means."""
        match event:
            case ev.StepBegun():
                self._may_be_worked_on(event.step, time)
                if self.current != event.step:
                    self.current, self.counted, self.stage, self.good_reading = event.step, 0, 0, False
                    self.new_fasteners = set()
            case ev.Counted():
                self._may_be_worked_on(event.step, time, self.counted < event.number)
                self.counted = event.number
            case ev.StageDone():
                self._may_be_worked_on(event.step, time, self.stage < event.stage)
                self.stage = event.stage
            case ev.CountTakenBack():
                _check(event.number == self.counted, "a count was taken back that is not the last")
                self.counted -= 1
            case ev.StageTakenBack():
                _check(event.stage == self.stage, "a stage was taken back that is not the last")
                self.stage -= 1
            case ev.FastenersRenewed():
                self._may_be_worked_on(event.step, time)
                _check(self._said(f"new {event.fasteners}"), f"nobody said that {event.fasteners} are new")
                self.new_fasteners.add(event.fasteners)
            case ev.FastenersTakenBack():
                self.new_fasteners.remove(event.fasteners)
            case ev.ReadingTaken():
                self._may_be_worked_on(event.step, time)
                self.good_reading = self._reading(self._limits_of(event.step))
                _check(event.within == self.good_reading, "a reading was judged wrongly")
            case ev.ReadingDropped():
                self.good_reading = False
            case ev.StepDone():
                self._may_be_worked_on(event.step, time)
                self._may_be_done(self.procedure.step(event.step), event.state, time)
                self._done(self.procedure.step(event.step), time)
            case ev.StepSkipped() | ev.StepNotNeeded():
                self._left_out(event.step, isinstance(event, ev.StepSkipped))
            case ev.StepUndone():
                self._undone(self.procedure.step(event.step))
            case _:
                self._see_the_rest(event, time, wall)

    def _see_the_rest(self, event: ev.Event, time: timedelta, wall: datetime) -> None:
        match event:
            case ev.Asked():
                self._asked(event)
            case ev.Answered():
                self.read_back = None
            case ev.SealRenewed():
                _check(self._said("new seal fitted"), "a seal was renewed that nobody said was new")
                self._mended(event.seal)
            case ev.SealJudged():
                _check(
                    self._said("seal is fit to use" if event.good else "renew the seal"),
                    "a seal judged by nobody",
                )
                if event.good and self.procedure.seals[event.seal].use == "inspect":
                    self._mended(event.seal)
            case ev.SealTakenBack():
                for mended in self.seals_mended.values():
                    if event.seal in mended:
                        self.old_seals[event.seal] = mended.pop(event.seal)
            case ev.EnergyProved():
                self._is_proved(event.energy, time)
            case ev.ProofLost():
                self.proved.discard(event.energy)
            case ev.JobHeld() | ev.WorkStopped():
                self.proved.clear()
                self.read_back = None
            case ev.DeadlineSet():
                if event.deadline.startswith("part:"):
                    _check(event.desk or self.heard.command is Command.YES, "a part awaited without a yes")
                self.deadlines[event.deadline] = Expected(time + (event.due - wall))
                kind, _, about = event.deadline.partition(":")
                if kind == "isolation-wait":
                    self.isolated_since[about] = time
                elif kind == "wait":
                    self.waiting_since[about] = time
            case ev.DeadlineAnnounced():
                self._announced(event, time)
            case ev.DeadlineSettled():
                gone = self.deadlines.pop(event.deadline)
                over = gone.announced and time >= gone.due - SLACK
                _check(event.how != "acknowledged" or bool(over), f"{event.deadline} was settled early")
                if event.how == "arrived":
                    _check(event.deadline.startswith("part:"), f"{event.deadline} is no part")
                    _check(event.desk or self.heard.command is Command.YES, "a part came without a yes")
            case ev.ClockMoved():
                if event.unsure:
                    for id_, deadline in self.deadlines.items():
                        if id_.startswith("skin-over:"):
                            deadline.due = min(deadline.due, time)
            case ev.JobClosed():
                self._may_be_closed()
                self.closed = True
            case _:
                pass

    def _asked(self, event: ev.Asked) -> None:
        self.read_back = None
        if event.question == "reading right":
            said = self.heard.arguments
            value, unit = event.about["value"], event.about["unit"]
            same = math.isclose(float(value), float(said["value"]), rel_tol=1e-9)
            _check(same and said.get("unit", "") in ("", unit), f"{said} was read back as {value} {unit}")
            self.read_back = value, unit

    def interrupted(self) -> None:
        """The companion was away for long, or the machine was off."""
        self.proved.clear()
        self.read_back = None

    def still_waits_for(self) -> set[str]:
        """Ids of the deadlines that must not be lost."""
        return set(self.deadlines)

    # What must be true

    def _may_be_worked_on(self, step_id: str, time: timedelta, forward: bool = True) -> None:
        if not forward:
            return
        step = self.procedure.step(step_id)
        for energy in step.needs_isolated:
            _check(energy in self.proved, f"{step_id} was reached while {energy} was not proved dead")
        for before in self.procedure.predecessors(step_id):
            _check(before in self.settled, f"{step_id} was reached before {before}")
        for starter in step.waits_for:
            applier = self.procedure.step(self.procedure.step(starter).assembles or starter)
            assert applier.applies
            if starter not in self.done_at:
                _check(
                    starter in self.settled and starter in self.not_needed, f"{step_id}: {starter} not done"
                )
                continue
            sheet = self.procedure.consumables[applier.applies.consumable].full_cure
            _check(
                time - self.done_at[starter] >= sheet - self.early, f"{step_id} was reached during the cure"
            )
        for seal_id in self.old_seals:
            seal = self.procedure.seals[seal_id]
            closes = seal.joint in step.closes and seal_id not in step.renews
            _check(not closes, f"{step_id} was reached with {seal_id} not renewed")

    def _may_be_done(self, step: Step, spoken: str | None, time: timedelta) -> None:
        _check(not step.count or self.counted == step.count, f"{step.id}: not all counted")
        stages = sum(len(f.tightening) for f in step.fasteners)
        _check(self.stage == stages, f"{step.id}: not all stages")
        tightened = {f.what for f in step.fasteners if f.renew and f.tightening}
        _check(tightened <= self.new_fasteners, f"{step.id}: old fasteners went in")
        _check(not set(step.renews) & set(self.old_seals), f"{step.id}: seals not renewed")
        limits = self._limits_of(step.id)
        _check(limits is None or self.good_reading, f"{step.id}: no good reading")
        if step.state and not (step.proves and limits):
            _check(spoken == step.state and self._said(step.state), f"{step.id}: nobody said {step.state}")
        waited = time - self.waiting_since.get(step.id, time)
        _check(step.wait is None or waited >= step.wait - self.early, f"{step.id}: the wait was not over")
        if step.assembles:
            applied = self.procedure.step(step.assembles).applies
            assert applied
            skin = self.procedure.consumables[applied.consumable].skin_over
            gone = time - self.done_at[step.assembles]
            _check(skin is None or gone <= skin + SLACK, f"{step.id}: assembled after it had skinned over")
        if step.restores:
            self._may_be_restored(step.restores)

    def _may_be_restored(self, energy: str) -> None:
        under = {s.id for s in self.procedure.steps if energy in s.needs_isolated}
        for step_id in under:
            _check(step_id in self.settled, f"{energy} restored before {step_id}")
        for item, opener in self.items.items():
            _check(opener not in under, f"{energy} restored with {item} open")

    def _is_proved(self, energy: str, time: timedelta) -> None:
        source = self.procedure.energy[energy]
        limits = source.prove or next(
            (s.measure for s in self.procedure.steps if s.proves == energy and s.measure), None
        )
        if limits:
            _check(self._reading(limits), f"{energy} was proved by no confirmed reading within its limits")
        else:
            words = {s.state for s in self.procedure.steps if s.proves == energy}
            _check(
                self.heard.command is Command.STATE and self.heard.arguments.get("state") in words,
                f"{energy} was proved by no words",
            )
        _check(energy in self.not_restored, f"{energy} was proved but not isolated")
        waited = time - self.isolated_since[energy]
        _check(
            waited >= (source.wait or timedelta()) - self.early,
            f"{energy} was proved before its wait was over",
        )
        self.proved.add(energy)

    def _may_be_closed(self) -> None:
        _check(not self.items, f"closed with {self.items} open")
        _check(not self.old_seals, f"closed with {self.old_seals} old")
        _check(not self.not_restored, f"closed with {self.not_restored} isolated")
        _check(self.settled == {s.id for s in self.procedure.steps}, "closed with steps to do")
        _check(not any(d.startswith("timer:") for d in self.deadlines), "closed with a timer running")

    def _announced(self, event: ev.DeadlineAnnounced, time: timedelta) -> None:
        waited = self.deadlines[event.deadline]
        late = time - waited.due
        _check(late >= -SLACK, f"{event.deadline} was announced early by {-late}")
        if event.late_s:
            told = timedelta(seconds=event.late_s)
            _check(waited.announced == 0, f"{event.deadline} was told twice to be late")
            _check(told <= late + SLACK, f"{event.deadline} told {told} late, was {late}")
        waited.announced += 1
        if not event.deadline.startswith((*URGENT, "part:")):
            self.deadlines.pop(event.deadline)

    # What follows

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
            _check(not (step.isolates or step.proves or step.wait), f"{step_id} must not be skipped")
        else:
            _check(bool(step.optional or step.only_if), f"{step_id} was declined but is needed")
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


def _check(holds: bool, what: str) -> None:
    if not holds:
        raise UnsafeError(what)
