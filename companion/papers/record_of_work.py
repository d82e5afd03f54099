"""The record of work: what was measured, renewed, tightened and left out, by whom and when. Pure.

It goes into the customer's file. Built from where the job stands and from its log alone; times are shown by a
function that the edge gives.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from companion.job.facts.events import Record
from companion.job.facts.state import How, Settled, State
from companion.job.rules.ledger import open_things
from companion.job.rules.wants import tightenings
from companion.job.turns.end_of_job import follow_up_text
from companion.job.words.sentences import sentence
from companion.labour.table.stopwatch import Stopwatch
from companion.pages.html import page, table
from companion.papers.happened import Happened, Shown, happened
from companion.procedure.model import Fastener, Step
from companion.procedure.nouns import several, the
from companion.procedure.units import Angle, short

Row = tuple[str, ...]


@dataclass(frozen=True)
class Part:
    """A table of the record; one without rows is left out."""

    heading: str
    heads: Row
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class RecordOfWork:
    """The record."""

    title: str
    about: tuple[str, ...]
    """Job, vehicle, who, when, how long."""
    parts: tuple[Part, ...]

    def rows(self, heading: str) -> tuple[Row, ...]:
        """Of one part; none when it was left out."""
        return next((part.rows for part in self.parts if part.heading == heading), ())


MEASURED, TIGHTENED, RENEWED = "Measured", "Tightened", "Renewed and inspected"
LEFT_OUT, NOTED, ISOLATED = "Left out", "Noted", "Isolated and proved"
WAITED, HELD, STILL_OPEN, DUE, STEPS = "Waits and timers", "Holds and alarms", "Still open", "Due", "Steps"


def record_of_work(state: State, records: Sequence[Record], shown: Shown) -> RecordOfWork:
    """The record of a job, finished or not; `records` is its whole log."""
    log = happened(state, records, shown)
    parts = [
        Part(MEASURED, ("What", "Value", "Limits", "Within", "When", "By"), tuple(log.measured)),
        Part(TIGHTENED, ("Step", "What", "To", "When", "By"), tuple(_tightened(state, log, shown))),
        Part(RENEWED, ("What", "How", "When", "By"), tuple(log.renewed.values())),
        Part(LEFT_OUT, ("What", "Why", "When", "By"), tuple(_left_out(state, log, shown))),
        Part(NOTED, ("Note", "Step", "When", "By"), tuple(log.noted.values())),
        Part(ISOLATED, ("What", "When", "By"), tuple(log.isolated)),
        Part(WAITED, ("What", "From", "To", "How it ended"), tuple(wait.row() for wait in log.waited)),
        Part(HELD, ("What", "From", "To"), tuple(held.row()[:3] for held in log.held)),
        Part(STILL_OPEN, ("What",), tuple((sentence(thing.text),) for thing in open_things(state))),
        Part(DUE, ("What", "When"), tuple(_due(state, shown))),
        Part(STEPS, ("Step", "What", "How", "When", "By"), tuple(_steps(state, log, shown))),
    ]
    about = tuple(_about(state, records, log, shown))
    return RecordOfWork(state.procedure.title, about, tuple(part for part in parts if part.rows))


def active_time(records: Sequence[Record]) -> timedelta:
    """Time at work: on steps, without holds and absences."""
    watch = Stopwatch()
    for record in records:
        watch.see(record)
    return timedelta(seconds=watch.total)


def _about(state: State, records: Sequence[Record], log: Happened, shown: Shown) -> Iterator[str]:
    yield f"Job {state.job}"
    if state.vehicle:
        yield f"Vehicle {state.vehicle}"
    yield f"Procedure {state.procedure.title}, revision {state.procedure.revision}"
    if log.people:
        yield f"Done by {', '.join(log.people)}"
    begun = f"Begun {shown(records[0].at)}" if records else "Not begun"
    where = f"closed {shown(log.closed)}" if log.closed else "on hold" if state.held else "not closed"
    yield f"{begun}, {where}"
    yield f"Time at work {short(active_time(records))}"
    if state.ambient_c is not None:
        yield f"Workshop {state.ambient_c:g} °C"
    if state.humidity is not None:
        yield f"Humidity {state.humidity:g} %"
    yield f"Torques: {state.procedure.source_of_torques}"


def _tightened(state: State, log: Happened, shown: Shown) -> Iterator[Row]:
    """Of steps that are done, and not undone since."""
    for settled in _in_order(state):
        step = state.procedure.step(settled.step)
        if settled.how is How.DONE:
            for fastener in _tight(step):
                name = several(fastener.count, fastener.what)
                size = f", {fastener.thread}" if fastener.thread else ""
                when, by = shown(settled.at), log.by.get(step.id, "")
                yield _numbered(state, step), f"{name}{size}", _to(fastener), when, by


def _tight(step: Step) -> list[Fastener]:
    return list(dict.fromkeys(tightening.fastener for tightening in tightenings(step)))


def _to(fastener: Fastener) -> str:
    values = [f"{value} further" if isinstance(value, Angle) else str(value) for value in fastener.tightening]
    return ", then ".join(values)


def _left_out(state: State, log: Happened, shown: Shown) -> Iterator[Row]:
    """Things left out for good; then steps that were skipped or not wanted."""
    for left in state.left_out.values():
        what = f"{the(state.procedure.items[left.item].name)}: left out for good"
        yield sentence(what), left.because, shown(left.at), left.by
    for settled in _in_order(state):
        step = state.procedure.step(settled.step)
        if settled.how is not How.DONE:
            why = settled.because if settled.how is How.SKIPPED else "not needed"
            what = f"{_numbered(state, step)}: {step.say}"
            yield what, why, shown(settled.at), log.by.get(step.id, "")


def _due(state: State, shown: Shown) -> Iterator[Row]:
    for deadline in sorted(state.deadlines.values(), key=lambda d: d.due):
        yield sentence(deadline.name), shown(deadline.due)
    if state.closed:
        for follow_up in state.procedure.follow_ups:
            if follow_up.after is None:
                yield sentence(follow_up_text(follow_up)), ""


def _steps(state: State, log: Happened, shown: Shown) -> Iterator[Row]:
    for step in state.procedure.steps:
        settled = state.settled.get(step.id)
        how, when = (str(settled.how), shown(settled.at)) if settled else ("not done", "")
        yield str(state.procedure.number(step.id)), step.say, how, when, log.by.get(step.id, "")


def _in_order(state: State) -> list[Settled]:
    return sorted(state.settled.values(), key=lambda s: state.procedure.number(s.step))


def _numbered(state: State, step: Step) -> str:
    return f"Step {state.procedure.number(step.id)}"


def as_text(record: RecordOfWork) -> list[str]:
    """The record in plain lines, for a terminal."""
    lines = [f"RECORD OF WORK: {record.title}", *record.about]
    for part in record.parts:
        rows = (" · ".join(filter(None, row)) for row in part.rows)
        lines += ["", part.heading, *(f"  - {row}" for row in rows)]
    return lines


def as_html(record: RecordOfWork) -> str:
    """The record as one self-contained page to print."""
    sections = [
        (_anchor(p.heading), p.heading, table(p.heading, p.heads, p.rows, words=len(p.heads)))
        for p in record.parts
    ]
    foot = ["Made from the log of the job. The vehicle maker's data rules."]
    return page(f"Record of work: {record.title}", " · ".join(record.about), sections, foot, style=_STYLE)


def as_data(record: RecordOfWork) -> dict[str, list[dict[str, str]]]:
    """The record for other programs: each part as rows by the heads of its columns."""
    return {
        _anchor(part.heading): [
            {_anchor(head): cell for head, cell in zip(part.heads, row, strict=True)} for row in part.rows
        ]
        for part in record.parts
    }


def _anchor(heading: str) -> str:
    return re.sub(r"[^a-z]+", "_", heading.lower())


_STYLE = "caption{position:absolute;left:-999rem}tr{break-inside:avoid}"
