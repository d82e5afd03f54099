"""Looking at the full screen: a job is worked, and what stands on the screen now is told as text."""

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

from companion.job.facts.state import State
from companion.procedure.model import Step
from companion.terminal import Letters
from companion.work.views.page import Seen, page
from companion.work.views.rows import cells

SIZES = [(120, 40), (80, 24), (60, 20)]
PROCEDURES = ["sump-reseal", "coolant-pump", "front-brakes"]


def drawn(
    state: State, now: datetime, width: int, height: int, letters: str = "utf-8", **seen: Any
) -> list[str]:
    """The rows of a terminal of that size."""
    rows = page(Seen((state, now), **seen), width, height, Letters(letters))
    assert len(rows) == height
    assert all(cells(row.text) <= width for row in rows), "no row is wider than the terminal"
    return [row.text for row in rows]


def run_together(rows: list[str]) -> str:
    """As one line, however it was broken."""
    return " ".join(" ".join(rows).split())


def to_a_step(bench: Any, wanted: Callable[[Step], bool]) -> None:
    """Work until such a step is on the screen."""
    for _ in range(400):
        step = bench.session.state.step
        if step and not bench.session.state.question and wanted(step):
            return
        bench.obliges()
    raise AssertionError("no such step")


def dangerous(step: Step) -> bool:
    return any(hazard.signal == "DANGER" for hazard in step.hazards)


def a_whole_job(bench: Any, procedure: str) -> Iterator[State]:
    """Every state of it."""
    bench.begin(procedure)
    for _ in range(1500):
        yield bench.session.state
        if bench.session.state.closed:
            return
        bench.obliges()
    raise AssertionError("the job does not come to an end")
