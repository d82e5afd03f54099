"""A second opinion on what is left out for good: asked, confirmed, told why; and never what must not be."""

from collections.abc import Mapping, Set
from dataclasses import dataclass, replace

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.procedure.model import Step
from tests.benchmarks.safety.over_open import WET, OverOpen
from tests.benchmarks.safety.unsafe import check

LIVES = ("wheel", "brake", "calliper", "carrier", "disc", "steering")
"""Words of the shipped procedures for what is never left out, unless it only covers or measures."""


@dataclass(frozen=True)
class Leaving:
    """How far the talk about leaving something out has come."""

    step: str = ""
    """The step that would put it back; empty when nobody talks of it."""
    confirmed: bool = False
    why: str = ""
    put_by: bool = False
    """It is asked whether to stop the work, and the question comes back if not."""


def talked(so_far: Leaving, event: ev.Event, command: Command | None, words: str) -> Leaving:
    """After one more event of the talk."""
    match event:
        case ev.Asked(question="leave out"):
            return Leaving(event.about["step"], why=event.about.get("reason", ""))
        case ev.Asked(question="leave out reason"):
            sure = command is Command.YES or so_far.confirmed
            check(sure and so_far.step == event.about["step"], "left out without a yes")
            return Leaving(so_far.step, confirmed=True)
        case ev.Asked(question="stop work"):
            return replace(so_far, put_by=True)
        case ev.Asked() | ev.JobHeld() | ev.WorkStopped() | ev.SessionStarted():
            return Leaving()
        case ev.Answered() if so_far.put_by:
            return replace(so_far, put_by=False)
        case ev.Answered():
            yes = command is Command.YES or so_far.confirmed
            said = so_far.why or (words if command is Command.WORDS else "")
            return Leaving(so_far.step, yes, said) if so_far.step and yes else Leaving()
        case _:
            return so_far


def may_be_left(
    so_far: Leaving, step: Step, over: OverOpen, items: Mapping[str, str], settled: Set[str], reason: str
) -> None:
    """What that step would put back is left out: was it decided, and is it allowed?"""
    check(so_far.step == step.id and so_far.confirmed, f"{step.id}: left out and nobody said yes")
    check(bool(reason) and reason == so_far.why, f"{step.id}: left out without the reason that was given")
    check(not (step.isolates or step.proves or step.restores), f"{step.id}: energy was left out")
    check(all(h.signal != "DANGER" for h in step.hazards), f"{step.id}: a step with DANGER was left out")
    check(step.may_be_left_out is not False, f"{step.id}: left out, though the file says never")
    kinds = {over.procedure.items[item].kind.called for item in step.closes}
    covers = bool(kinds) and kinds <= {"panel", "connector"}
    told = step.say.casefold()
    check(covers or not any(word in told for word in LIVES), f"{step.id}: lives hang on it")
    for item in set(step.closes) & set(items):
        kind, circuit = over.procedure.items[item].kind.called, over.procedure.items[item].circuit
        check(kind != "support", f"{item}: a support was left in place")
        for other in over.steps.values() if kind in WET else ():
            acts = over.acts_on(other)
            if acts is None or other.id in (*settled, step.id) or item in other.leaves_open:
                continue
            same = not acts or circuit is None or circuit in acts
            check(not same, f"{item} was left open before {other.id}")
