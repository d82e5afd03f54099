"""What can be said at a step, for commands that listen without a job."""

import difflib
from pathlib import Path

import click

from companion.errors import ProcedureError
from companion.job.facts.state import State
from companion.job.rules.expected import Expecting, expected
from companion.procedure.holds.holds import holds_of
from companion.procedure.model import Procedure

_PLAIN = {
    "title": "A plain step",
    "revision": "1",
    "applies_to": ["anything"],
    "source_of_torques": "none",
    "steps": [{"id": "plain", "act": "inspect", "say": "Look.", "book": "1 min"}],
}


def expecting_at(path: Path | None, step_id: str | None) -> Expecting:
    """What can be said while the step is worked on; a plain step when no procedure is named.

    Raises:
        ProcedureError: the procedure cannot be used, or has no such step.
    """
    if path is None:
        if step_id is not None:
            raise click.UsageError("--step needs --procedure")
        procedure = Procedure.from_data(_PLAIN)
        return expected(State(procedure, job="none", current="plain"))
    from companion.procedure.read import read_procedure

    procedure = read_procedure(path)
    ids = [step.id for step in procedure.steps]
    if step_id is None:
        step_id = next(
            (s.id for s in procedure.steps if not s.needs_spoken_state and not s.fasteners), ids[0]
        )
    if step_id not in ids:
        near = difflib.get_close_matches(step_id, ids, 1)
        hint = f"did you mean {near[0]!r}?" if near else f"the first is {ids[0]!r}"
        raise ProcedureError(f"{path}: there is no step {step_id!r}; {hint}")
    return expecting_in(procedure, step_id)


def expecting_in(procedure: Procedure, step_id: str) -> Expecting:
    """What can be said while a step is worked on: what it closes is open, and every seal is disturbed."""
    disturbed = {seal: step.id for step in procedure.steps for seal in step.disturbs}
    opened = {
        opening.item: opening.step
        for opening, closer in holds_of(procedure).closed_by.items()
        if closer == step_id and opening.item
    }
    state = State(procedure, job="none", current=step_id, open_items=opened, open_seals=disturbed)
    return expected(state)
