"""The handover: one page for whoever goes on with a held job, perhaps days later. Pure.

Built from where the job stands and from its log. Times are shown by a function that the edge gives, so that
the page tells local time while the core knows only UTC.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from companion.job.facts import events as ev
from companion.job.facts.deadlines import running
from companion.job.facts.energy import OPEN
from companion.job.facts.events import Record
from companion.job.facts.state import How, State
from companion.job.rules.held_back import loose_steps
from companion.job.rules.ledger import OpenItem, energy_text, left_out, open_things
from companion.job.words.sentences import sentence
from companion.pages.html import items
from companion.pages.html import page as whole_page
from companion.procedure.energy_words import energy_words
from companion.procedure.nouns import as_many, several

Shown = Callable[[datetime], str]
SAID_LAST = 3
FIRST = "Do first on return"


@dataclass(frozen=True)
class Section:
    """A heading and its lines; one without lines is left out."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Handover:
    """The page."""

    title: str
    about: tuple[str, ...]
    """Job, vehicle, mechanic, when it was written."""
    sections: tuple[Section, ...]
    """What must be done first comes first."""


def handover(state: State, records: Sequence[Record], now: datetime, shown: Shown) -> Handover:
    """The handover of a job as it stands at `now` (UTC); `records` is its log."""
    about = [f"Job {state.job}"]
    about += [f"Vehicle {state.vehicle}"] if state.vehicle else []
    about += [f"Mechanic {state.mechanic}"] if state.mechanic else []
    about.append(f"Written {shown(now)}")
    about += [f"Held: {state.held_because}"] if state.held_because else []
    sections = [
        Section(FIRST, tuple(_first(state, now))),
        Section("Isolated, not restored", tuple(_isolated(state))),
        Section("Open", tuple(_open(state))),
        Section("Left out for good", tuple(_left_out(state, shown))),
        Section("Curing and awaited", tuple(_awaited(state, now, shown))),
        Section("Bagged fasteners", tuple(_bags(state))),
        Section("Skipped", tuple(_skipped(state))),
        Section("Notes", tuple(_notes(state))),
        Section("Said last", tuple(_said_last(records))),
    ]
    return Handover(state.procedure.title, tuple(about), tuple(s for s in sections if s.lines))


def _first(state: State, now: datetime) -> Iterator[str]:
    if state.closed:
        yield "Nothing: the job is closed."
        return
    for deadline in sorted(state.deadlines.values(), key=lambda d: d.due):
        if deadline.due <= now:
            yield sentence(f"Overdue: {deadline.what}")
    for energy, where in state.energy.items():
        if where in OPEN:
            proved = energy_words(state.procedure.energy[energy]).proved
            yield f"Before anything else prove again that {proved}."
    for part, there in state.parts.items():
        if not there:
            missing = state.procedure.parts[part]
            yield f"Get the new {as_many(missing.count, missing.name)}."
    procedure = state.procedure
    going_on = state.step or next((s for s in procedure.steps if s.id not in state.settled), None)
    if going_on:
        number, steps = procedure.number(going_on.id), len(procedure.steps)
        yield f"Then step {number} of {steps}: {going_on.say} {steps - len(state.settled)} to go."
    else:
        yield "Then close the job: every step is settled."


def _isolated(state: State) -> Iterator[str]:
    for energy, where in state.energy.items():
        if where in OPEN:
            yield sentence(energy_text(state, energy))


def _open(state: State) -> Iterator[str]:
    loose = {step.id: step.id for step in loose_steps(state)}
    opened_by = {**loose, **state.open_items, **state.open_seals}
    for thing in open_things(state):
        if thing.id not in opened_by:
            continue
        opener = f"since step {state.procedure.number(opened_by[thing.id])}"
        closer = f", put right in step {state.procedure.number(thing.closed_by)}" if thing.closed_by else ""
        yield sentence(f"{thing.text}{_where(state, thing)}: {opener}{closer}")


def _where(state: State, thing: OpenItem) -> str:
    item = state.procedure.items.get(thing.id)
    return f" ({item.where})" if item and item.where else ""


def _awaited(state: State, now: datetime, shown: Shown) -> Iterator[str]:
    for deadline in running(state.deadlines.values(), now):
        yield sentence(f"{shown(deadline.due)}: {deadline.told(now)}")


def _bags(state: State) -> Iterator[str]:
    """Bags of steps that are done and whose things are not put back."""
    still_open = {*state.open_items, *state.left_out}
    for step in state.procedure.steps:
        still_out = not step.opens or any(item in still_open for item in step.opens)
        if state.is_done(step.id) and still_out:
            for fastener in step.fasteners:
                if fastener.bag:
                    yield sentence(f"{several(fastener.count, fastener.what)}: {fastener.bag}")


def _left_out(state: State, shown: Shown) -> Iterator[str]:
    for thing in left_out(state):
        left = state.left_out.get(thing.id)
        where = _where(state, thing)
        by = f" Decided{f' by {left.by}' if left.by else ''}, {shown(left.at)}." if left else ""
        yield f"{sentence(f'{thing.text}{where}: {thing.because}')}{by}"


def _skipped(state: State) -> Iterator[str]:
    for settled in state.settled.values():
        if settled.how is How.SKIPPED:
            step = state.procedure.step(settled.step)
            yield sentence(f"Step {state.procedure.number(step.id)}, {step.say} Skipped: {settled.because}")


def _notes(state: State) -> Iterator[str]:
    for note in state.notes:
        where = f" (step {state.procedure.number(note.step)})" if note.step else ""
        yield f"{note.text or 'not understood, listen to'}{where}{f' [{note.clip}]' if note.clip else ''}"


def _said_last(records: Sequence[Record]) -> list[str]:
    """What was said last before the work was held or stopped; what is said meanwhile does not count."""
    at_work = -1
    for number, record in enumerate(records):
        if isinstance(record.event, ev.JobCarriedOn):
            at_work = number
    stops = (ev.JobHeld, ev.WorkStopped)
    held = (n for n in range(at_work + 1, len(records)) if isinstance(records[n].event, stops))
    end = next(held, len(records))
    said = [r.event.text for r in records[:end] if isinstance(r.event, ev.Said)]
    return said[-SAID_LAST:]


def as_text(page: Handover) -> list[str]:
    """The page in plain lines, for a terminal."""
    lines = [f"HANDOVER: {page.title}", " · ".join(page.about)]
    for section in page.sections:
        lines += ["", section.heading, *(f"  - {line}" for line in section.lines)]
    return lines


def as_html(page: Handover) -> str:
    """The page as one self-contained HTML file that prints on one sheet of paper."""
    sections = [(_anchor(s.heading), s.heading, items(s.lines)) for s in page.sections]
    lead = " · ".join(page.about)
    foot = ["The vehicle maker's data rules."]
    return whole_page(f"Handover: {page.title}", lead, sections, foot, style=_STYLE)


def _anchor(heading: str) -> str:
    return heading.lower().replace(" ", "-").replace(",", "")


_STYLE = f"""
#{_anchor(FIRST)}{{border:2px solid var(--red)}}#{_anchor(FIRST)} h2{{color:var(--red)}}
@media print{{section{{margin:.5rem 0}}#{_anchor(FIRST)}{{padding:0 .75rem}}li{{break-inside:avoid}}}}
"""
