"""What stays on the terminal when the mechanic leaves: where the job stands, and how it goes on. Pure."""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from pathlib import PurePath

from companion.job.facts.state import State
from companion.job.rules.ledger import open_things
from companion.papers.record_of_work import DUE, LEFT_OUT, MEASURED, NOTED, RecordOfWork
from companion.procedure.units import short

MOST = 20
"""Lines of one kind; how many more there are is told."""


def summary(
    state: State, record: RecordOfWork, worked: timedelta, pages: Sequence[tuple[str, PurePath]], go_on: str
) -> list[str]:
    """The lines.

    Args:
        record: of this job, as it stands.
        worked: the time at work.
        pages: what each page is, and where it was written.
        go_on: the command that takes the job up again.
    """
    title = ", ".join(filter(None, (state.procedure.title, state.vehicle)))
    who = f", mechanic {state.mechanic}" if state.mechanic else ""
    lines = [f"Job {state.job}: {title}", _where(state), f"{short(worked)} of work{who}"]
    for name, heading in (("Measured", MEASURED), ("Left out", LEFT_OUT), ("Noted", NOTED), ("Due", DUE)):
        lines += _some(name, list(_told(record, heading)))
    lines += _some("Open", [thing.text for thing in open_things(state)])
    lines += [f"{what}: {path}" for what, path in pages]
    if not state.closed:
        lines.append(f"Go on with: {go_on}")
    return lines


def _where(state: State) -> str:
    if state.closed:
        return "Closed"
    total = len(state.procedure.steps)
    held = "On hold" if state.held else "Left"
    if state.step:
        return f"{held} at step {state.procedure.number(state.step.id)} of {total}: {state.step.say}"
    return f"{held} with {len(state.settled)} of {total} steps settled"


def _told(record: RecordOfWork, heading: str) -> Iterator[str]:
    for row in record.rows(heading):
        if heading == MEASURED:
            what, value, limits, within, *_ = row
            outside = {"yes": "", "no": ", OUT OF LIMITS"}.get(within, f", {within}")
            yield f"{what}, {value} ({limits}){outside}"
        elif heading == DUE:
            yield " ".join(filter(None, reversed(row)))
        else:
            yield ", ".join(filter(None, row[:2]))


def _some(name: str, told: list[str]) -> list[str]:
    lines = [f"{name}: {one}" for one in told[:MOST]]
    more = len(told) - MOST
    return [*lines, f"{name}: and {more} more, see companion jobs"] if more > 0 else lines
