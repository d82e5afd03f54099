"""The steps of a procedure as labour."""

from companion.job.facts.work import work_digest
from companion.labour.model.prediction import Task
from companion.procedure.model import Act, Procedure, Step


def task_of(step: Step) -> Task:
    """The step's identity and book time."""
    return Task(step.id, work_digest(step), step.book)


def labour_of(procedure: Procedure, wanted: frozenset[str] | None = None) -> tuple[Task, ...]:
    """What occupies the mechanic: every step that is no wait. Optional steps, and those that hang on them,
    count only when their ids (those of the optional steps) are in `wanted`; None wants them all."""
    return tuple(task_of(s) for s in procedure.steps if s.act != Act.WAIT and _is_wanted(s, wanted))


def _is_wanted(step: Step, wanted: frozenset[str] | None) -> bool:
    if wanted is None:
        return True
    decider = step.id if step.optional else step.only_if
    return decider is None or decider in wanted
