"""What the program once let happen: a sump sealed, filled and run with the oil strainer on the bench."""

from pathlib import Path

import pytest

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.procedure.read import read_procedure
from tests.job.buried.working import at_step, work_until

SUMP = read_procedure(Path(__file__).parents[3] / "procedures" / "sump-reseal.yaml")
TOO_LATE = ("fit-passage-ring", "apply-sealant", "fit-sump", "tighten-sump", "fill-oil", "run-engine")


@pytest.fixture
def without_strainer(mechanic_for):
    """The mechanic took the strainer out, washed it, and skips putting it back."""
    mechanic = mechanic_for(SUMP)
    mechanic.opens()
    work_until(mechanic, at_step(SUMP.step("fit-strainer")))
    mechanic.says(Command.SKIP, reason="no ring in the box")
    return mechanic


def test_nothing_is_sealed_filled_or_run_while_it_is_out(without_strainer):
    mechanic = without_strainer
    work_until(mechanic, lambda state: state.closed)
    back = max(n for n, (event, _) in enumerate(mechanic.events) if begins(event, "fit-strainer"))
    for step in TOO_LATE:
        first = next(n for n, (event, _) in enumerate(mechanic.events) if begins(event, step))
        assert first > back, f"{step} was read while the strainer was on the bench"


def begins(event: ev.Event, step: str) -> bool:
    return isinstance(event, ev.StepBegun) and event.step == step
