"""A second opinion on a job: what must never happen, worked out anew from what was heard and what was logged.

It shares no code with the gates, the ledger or the folding. It keeps its own time, which nobody can set.
"""

import math
from collections.abc import Mapping
from datetime import datetime, timedelta

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.procedure.model import Measure, Step
from tests.benchmarks.safety.leaving import Leaving, may_be_left, talked
from tests.benchmarks.safety.memory import Heard, Memory
from tests.benchmarks.safety.over_open import leaves_loose
from tests.benchmarks.safety.unsafe import UnsafeError, check
from tests.benchmarks.safety.waits import SLACK

__all__ = ["MECHANIC", "SLACK", "Oracle", "UnsafeError"]

MECHANIC = "Ana"


class Oracle(Memory):
    """Follows one job. `time` is what really passed since the job began."""

    def listen(self, command: Command | None, arguments: Mapping[str, str]) -> None:
        """The mechanic says something (None: a message that is nobody's words)."""
        self.heard = Heard(command, dict(arguments), self.read_back)
        if self.leaving.confirmed and self.leaving.why:
            self.leaving = Leaving()

    def see(self, event: ev.Event, time: timedelta, wall: datetime) -> None:
        """Check one event, then remember what it means."""
        self.leaving = talked(self.leaving, event, self.heard.command, self.heard.arguments.get("text", ""))
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
                check(event.number == self.counted, "a count was taken back that is not the last")
                self.counted -= 1
            case ev.StageTakenBack():
                check(event.stage == self.stage, "a stage was taken back that is not the last")
                self.stage -= 1
            case ev.FastenersRenewed():
                self._may_be_worked_on(event.step, time)
                check(self._said(f"new {event.fasteners}"), f"nobody said that {event.fasteners} are new")
                self.new_fasteners.add(event.fasteners)
            case ev.FastenersTakenBack():
                self.new_fasteners.remove(event.fasteners)
            case ev.ReadingTaken():
                self._may_be_worked_on(event.step, time)
                self.good_reading = self._reading(self._limits_of(event.step))
                check(event.within == self.good_reading, "a reading was judged wrongly")
            case ev.ReadingDropped():
                self.good_reading = False
            case ev.StepDone():
                self._may_be_worked_on(event.step, time)
                self._may_be_done(self.procedure.step(event.step), event.state, time)
                self._done(self.procedure.step(event.step), time)
            case ev.StepSkipped():
                self._skipped(event)
            case ev.StepNotNeeded():
                check(bool(self._step(event.step).optional or self._step(event.step).only_if), "needed")
                self.not_needed.add(event.step)
                self._not_done(event.step)
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
                check(self._said("new seal fitted"), "a seal was renewed that nobody said was new")
                self._mended(event.seal)
            case ev.SealJudged():
                check(
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
                self.read_back = self.put_by = None
            case ev.DeadlineSet():
                self.waits.set(event, self.heard.command is Command.YES, time, wall)
                kind, _, about = event.deadline.partition(":")
                if kind == "isolation-wait":
                    self.isolated_since[about] = time
            case ev.DeadlineAnnounced():
                self.waits.announced(event, time)
            case ev.DeadlineSettled():
                self.waits.settled(event, self.heard.command is Command.YES, time)
            case ev.ClockMoved() if event.unsure:
                self.waits.nobody_knows(time)
            case ev.ItemLeftOut():
                self._item_left_out(event)
            case ev.LeftOutTakenBack():
                self._open_again(event.item)
            case ev.JobClosed():
                self._may_be_closed()
                self.closed = True
            case _:
                pass

    def _asked(self, event: ev.Asked) -> None:
        waiting, self.read_back = self.read_back, None
        if event.question == "stop work":
            self.put_by = waiting
        elif event.question == "reading right":
            said = self.heard.arguments
            value, unit = event.about["value"], event.about["unit"]
            if self.heard.command is Command.READING:
                same = math.isclose(float(value), float(said["value"]), rel_tol=1e-9)
                check(same and said.get("unit", "") in ("", unit), f"{said} was read back as {value} {unit}")
            else:
                check(self.put_by == (value, unit), f"{value} {unit} was read back, and nobody had said it")
            self.read_back, self.put_by = (value, unit), None

    def interrupted(self) -> None:
        """The companion was away for long, or the machine was off."""
        self.proved.clear()
        self.read_back = self.put_by = None

    def still_waits_for(self) -> set[str]:
        """Ids of the deadlines that must not be lost."""
        return set(self.waits.deadlines)

    # What must be true

    def _may_be_worked_on(self, step_id: str, time: timedelta, forward: bool = True) -> None:
        if not forward:
            return
        step = self._step(step_id)
        left = {item: opener for item, (opener, _) in self.left.items()}
        self.over.watch(step_id, self.items, left, self.loose)
        for energy in step.needs_isolated:
            check(energy in self.proved, f"{step_id} was reached while {energy} was not proved dead")
        for before in self.procedure.predecessors(step_id):
            check(before in self.settled, f"{step_id} was reached before {before}")
        for starter in step.waits_for:
            applier = self.procedure.step(self.procedure.step(starter).assembles or starter)
            assert applier.applies
            if starter not in self.done_at:
                check(
                    starter in self.settled and starter in self.not_needed, f"{step_id}: {starter} not done"
                )
                continue
            sheet = self.procedure.consumables[applier.applies.consumable].full_cure
            check(
                time - self.done_at[starter] >= sheet - self.early, f"{step_id} was reached during the cure"
            )
        for seal_id in self.old_seals:
            seal = self.procedure.seals[seal_id]
            closes = seal.joint in step.closes and seal_id not in step.renews
            check(not closes, f"{step_id} was reached with {seal_id} not renewed")

    def _may_be_done(self, step: Step, spoken: str | None, time: timedelta) -> None:
        check(not step.count or self.counted == step.count, f"{step.id}: not all counted")
        stages = sum(len(f.tightening) for f in step.fasteners)
        check(self.stage == stages, f"{step.id}: not all stages")
        tightened = {f.what for f in step.fasteners if f.renew and f.tightening}
        check(tightened <= self.new_fasteners, f"{step.id}: old fasteners went in")
        check(not set(step.renews) & set(self.old_seals), f"{step.id}: seals not renewed")
        limits = self._limits_of(step.id)
        check(limits is None or self.good_reading, f"{step.id}: no good reading")
        if step.state and not (step.proves and limits):
            check(spoken == step.state and self._said(step.state), f"{step.id}: nobody said {step.state}")
        waited = time - self.waits.waiting_since.get(step.id, time)
        check(step.wait is None or waited >= step.wait - self.early, f"{step.id}: the wait was not over")
        if step.assembles:
            applied = self.procedure.step(step.assembles).applies
            assert applied
            skin = self.procedure.consumables[applied.consumable].skin_over
            check(step.assembles in self.done_at, f"{step.id}: assembled without {step.assembles}")
            gone = time - self.done_at[step.assembles]
            check(skin is None or gone <= skin + SLACK, f"{step.id}: assembled after it had skinned over")
        if step.restores:
            self._may_be_restored(step.restores)

    def _may_be_restored(self, energy: str) -> None:
        under = {s.id for s in self.procedure.steps if energy in s.needs_isolated}
        for step_id in under:
            check(step_id in self.settled, f"{energy} restored before {step_id}")
        for item, opener in self.items.items():
            check(opener not in under, f"{energy} restored with {item} open")
        for step_id, for_good in self.loose.items():
            check(for_good or step_id not in under, f"{energy} restored with {step_id} loose")

    def _is_proved(self, energy: str, time: timedelta) -> None:
        source = self.procedure.energy[energy]
        limits = source.prove or next(
            (s.measure for s in self.procedure.steps if s.proves == energy and s.measure), None
        )
        if limits:
            check(self._reading(limits), f"{energy} was proved by no confirmed reading within its limits")
        else:
            words = {s.state for s in self.procedure.steps if s.proves == energy}
            check(
                self.heard.command is Command.STATE and self.heard.arguments.get("state") in words,
                f"{energy} was proved by no words",
            )
        check(energy in self.not_restored, f"{energy} was proved but not isolated")
        waited = time - self.isolated_since[energy]
        check(
            waited >= (source.wait or timedelta()) - self.early,
            f"{energy} was proved before its wait was over",
        )
        self.proved.add(energy)

    def _may_be_closed(self) -> None:
        check(not self.items, f"closed with {self.items} open")
        check(not self.old_seals, f"closed with {self.old_seals} old")
        check(not self.not_restored, f"closed with {self.not_restored} isolated")
        check(self.settled == {s.id for s in self.procedure.steps}, "closed with steps to do")
        check(not self.waits.timer_runs(), "closed with a timer running")
        check(all(self.loose.values()), f"closed with {self.loose} loose")

    def _skipped(self, event: ev.StepSkipped) -> None:
        step = self._step(event.step)
        check(not (step.isolates or step.proves or step.wait), f"{step.id} must not be skipped")
        if event.for_good:
            may_be_left(self.leaving, step, self.over, self.items, self.settled, event.reason)
        self._not_done(step.id)
        if leaves_loose(step):
            self.loose[step.id] = event.for_good

    def _item_left_out(self, event: ev.ItemLeftOut) -> None:
        check(event.item in self.items, f"{event.item} was left out and is not open")
        check(event.by == MECHANIC, f"{event.item}: nobody knows who left it out")
        step = self._step(self.leaving.step)
        check(event.item in step.closes and step.id in self.settled, f"{event.item}: not by its step")
        may_be_left(self.leaving, step, self.over, self.items, self.settled, event.reason)
        joints = {s: self.procedure.seals[s].joint for s in self.old_seals}
        seals = {s: self.old_seals.pop(s) for s, joint in joints.items() if joint == event.item}
        self.left[event.item] = self.items.pop(event.item), seals

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
