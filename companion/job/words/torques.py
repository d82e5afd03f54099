"""How a torque is told: the one wanted now, or where in the procedure it is given instead."""

from companion.job.facts.state import State
from companion.job.rules.wants import tightenings
from companion.job.words.sentences import sentence
from companion.procedure.model import Act, Fastener, Procedure, Step
from companion.procedure.nouns import as_many, bare, the, verb

_GOING_IN = (Act.FIT, Act.CONNECT, Act.RESTORE)


NO_TORQUE = "No torque here."


def torque_answer(state: State, step: Step) -> str:
    """One torque value: the one wanted now."""
    values = tightenings(step)
    if not values:
        return _given_elsewhere(state.procedure, step) or NO_TORQUE
    now = values[min(state.stage, len(values) - 1)] if step.id == state.current else values[0]
    sequence = f" Sequence: {now.fastener.sequence}." if now.fastener.sequence else ""
    return f"{sentence(str(now))}{sequence}"


def given_only_at_removal(procedure: Procedure, step: Step) -> str | None:
    """What is said when a step puts fasteners back whose torque only the step before it gives."""
    if step.act not in _GOING_IN or tightenings(step):
        return None
    return _given_earlier(procedure, step)


def _given_elsewhere(procedure: Procedure, step: Step) -> str | None:
    here = procedure.number(step.id)
    for fastener in step.fasteners:
        for other in procedure.steps[here:]:
            if _same_with_torque(other, fastener):
                what = _named(fastener)
                return f"No torque here; {what} {verb(what)} tightened in step {procedure.number(other.id)}."
    return _given_earlier(procedure, step)


def _given_earlier(procedure: Procedure, step: Step) -> str | None:
    for fastener in step.fasteners:
        for other in reversed(procedure.steps[: procedure.number(step.id) - 1]):
            if same := _same_with_torque(other, fastener):
                values = ", then ".join(str(value) for value in same.tightening)
                number = procedure.number(other.id)
                return f"No torque here; step {number} gives {values} for {_named(fastener)}."
    return None


def _named(fastener: Fastener) -> str:
    return the(as_many(fastener.count, fastener.what))


def _same_with_torque(step: Step, fastener: Fastener) -> Fastener | None:
    name = bare(fastener.what).casefold()
    same = (f for f in step.fasteners if f.tightening and bare(f.what).casefold() == name)
    return next(same, None)
