"""A mechanic who works on until something is reached."""

from collections.abc import Callable
from datetime import timedelta

from companion.job import messages as msg
from companion.job.facts.state import State
from companion.procedure.model import Step
from companion.rehearsal.obliging import next_answer
from tests.job.conftest import Mechanic

Reached = Callable[[State], bool]


def go_on(mechanic: Mechanic) -> None:
    """Give what is wanted, or let the time pass."""
    answer = next_answer(mechanic.state, mechanic.now.wall)
    if isinstance(answer, timedelta):
        mechanic.passes(seconds=answer.total_seconds())
        mechanic.post(msg.Woken())
    else:
        mechanic.post(answer)


def work_until(mechanic: Mechanic, reached: Reached, most: int = 500) -> None:
    for _ in range(most):
        if reached(mechanic.state):
            return
        go_on(mechanic)
    raise AssertionError(f"not reached in {most} turns: {mechanic.state.last_said}")


def at_step(step: Step) -> Reached:
    return lambda state: state.current == step.id and state.question is None and not state.held
