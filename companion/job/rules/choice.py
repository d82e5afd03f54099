"""Which steps can be done now, and which of them are offered while another one waits."""

from datetime import datetime

from companion.job.facts.state import State
from companion.job.rules.gates import Refusal, finishing_refusal, refusal
from companion.job.rules.wants import nothing_given
from companion.procedure.model import Step

OFFERED = 3
"""No more are offered: people remember a longer list wrongly."""


def open_steps(state: State, now: datetime) -> list[Step]:
    """Every unsettled step with all its gates open, in file order."""
    unsettled = (step for step in state.procedure.steps if step.id not in state.settled)
    return [step for step in unsettled if refusal(state, step, now) is None]


def is_running(state: State, step: Step, now: datetime) -> bool:
    """Is the step a wait that was begun and is not over?"""
    wait = finishing_refusal(state, step, now)
    return wait is not None and wait.until is not None


def held_up(state: State, now: datetime) -> Refusal | None:
    """The wait that keeps the step in hand or an earlier one from going on; None when nothing waits."""
    if state.step and (running := finishing_refusal(state, state.step, now)):
        return running
    for step in state.procedure.steps:
        if step.id not in state.settled and step.id != state.current:
            shut = refusal(state, step, now)
            if shut is None:
                return None
            if shut.until:
                return shut
    return None


def other_steps(state: State, now: datetime) -> list[Step]:
    """What could be done in place of the step in hand while something waits.

    Nothing, once a count, a stage or the like was given to that step: it would be lost.
    """
    begun = state.step is not None and not nothing_given(state, state.step)
    if state.held or state.to_prove or state.question or begun:
        return []
    if held_up(state, now) is None:
        return []
    free = (s for s in open_steps(state, now) if s.id != state.current and not s.optional)
    return [s for s in free if not is_running(state, s, now)][:OFFERED]
