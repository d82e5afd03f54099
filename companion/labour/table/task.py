"""The steps of a procedure as labour."""

from dataclasses import dataclass
from datetime import timedelta

from companion.job.facts.work_digest import work_digest
from companion.procedure.model import Act, Procedure, Step


@dataclass(frozen=True)
class Task:
    """A step as labour: which step it is, what is done in it, and its book time."""

    step: str
    """Its id."""
    work: str
    """A digest of what is done: another wording has the same, other work has another."""
    book: timedelta
    book_estimated: bool = False
    """The file gives no book time; this one is guessed."""


def task_of(step: Step) -> Task:
    """One step as labour."""
    return Task(step.id, work_digest(step), step.book, step.book_estimated)


def labour_of(procedure: Procedure, wanted: frozenset[str] | None = None) -> tuple[Task, ...]:
    """The steps that occupy the mechanic: all that are no wait.

    Args:
        wanted: ids of the optional steps to be done. The others are left out, with the steps that hang on
            them. None wants them all.
    """
    return tuple(task_of(s) for s in procedure.steps if s.act != Act.WAIT and _is_wanted(s, wanted))


def _is_wanted(step: Step, wanted: frozenset[str] | None) -> bool:
    if wanted is None:
        return True
    decider = step.id if step.optional else step.only_if
    return decider is None or decider in wanted
