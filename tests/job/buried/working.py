"""A mechanic who works on until something is reached."""

from collections.abc import Callable
from pathlib import Path

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said import questions as q
from companion.job.facts.state import State
from companion.procedure.model import Procedure, Step
from companion.procedure.read import read_procedure
from tests.job.conftest import Mechanic

Reached = Callable[[State], bool]
FOLDER = Path(__file__).parents[3] / "procedures"
SUMP, COOLANT, BRAKES = (
    read_procedure(FOLDER / f"{name}.yaml") for name in ("sump-reseal", "coolant-pump", "front-brakes")
)
WHY = "the new ring does not fit"
TOLD = f"The oil strainer is left out: {WHY}."


def work_until(mechanic: Mechanic, reached: Reached, most: int = 500) -> None:
    for _ in range(most):
        if reached(mechanic.state):
            return
        mechanic.obliges()
    raise AssertionError(f"not reached in {most} turns: {mechanic.state.last_said}")


def at_step(step: Step) -> Reached:
    return lambda state: state.current == step.id and state.question is None and not state.held


def at(procedure: Procedure, step_id: str) -> Mechanic:
    """A mechanic called Ana, at that step."""
    mechanic = Mechanic(procedure)
    opened = ev.JobOpened(job="job-1", title="t", revision="1", procedure_sha256="0" * 64, mechanic="Ana")
    mechanic.post(msg.Opened("boot-1", opened))
    work_until(mechanic, at_step(procedure.step(step_id)))
    return mechanic


def leaves_out(mechanic: Mechanic, item: str = "") -> list[str]:
    """Says it, confirms it, and says why."""
    asked = mechanic.says(Command.LEAVE_OUT, **({"item": item} if item else {}))
    assert isinstance(mechanic.state.question, q.LeaveOut), asked
    assert mechanic.says(Command.YES) == ["Why?"]
    return mechanic.says(Command.WORDS, text=WHY)


def refused(mechanic: Mechanic, item: str = "") -> str:
    (said,) = mechanic.says(Command.LEAVE_OUT, **({"item": item} if item else {}))
    assert mechanic.state.question is None
    return said
