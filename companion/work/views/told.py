"""The words of the screen: what is wanted now, what is wrong, what rings, what comes next."""

from collections.abc import Iterator
from datetime import datetime

from companion.job.facts.deadlines import Kind as Waits
from companion.job.facts.sayings import Priority
from companion.job.facts.state import State
from companion.job.rules.choice import other_steps
from companion.job.rules.gates import finishing_refusal, refusal
from companion.job.rules.ledger import not_closable
from companion.job.rules.wants import Kind, first_want, limits, measure_of, proof_measure
from companion.job.turns.reminders import ALARM_STAGE
from companion.job.words.reading_out import hazard_saying
from companion.job.words.sentences import sentence
from companion.procedure.energy_words import energy_words
from companion.procedure.model import Step
from companion.procedure.units import short
from companion.procedure.wording import listing

HELD = "HELD: say carry on."


def about(state: State) -> list[str]:
    """Vehicle, job and the name of its log, the most needed first."""
    return [part for part in (state.vehicle, state.procedure.title, state.job or "") if part]


def place(state: State) -> tuple[str, str]:
    """Where in the job this is, and the same in short."""
    total = len(state.procedure.steps)
    marks = [
        "HELD" if state.held and not state.closed else "",
        "LOOKING BACK" if state.looking_at else "",
        "CLOSED" if state.closed else "",
    ]
    mark = " ".join(f"{m} · " for m in marks if m)
    if state.shown_step is None:
        return f"{mark}{len(state.settled)} of {total} steps settled", f"{mark}{len(state.settled)}/{total}"
    number = state.procedure.number(state.shown_step.id)
    return f"{mark}step {number} of {total}", f"{mark}{number}/{total}"


def words(state: State, now: datetime) -> str:
    """The step; without one, what is asked or waited for."""
    if state.closed:
        return "JOB CLOSED"
    step = state.shown_step
    if step:
        return step.say
    if state.question:
        return state.asked
    if state.held:
        return HELD
    if not not_closable(state):
        return "EVERY STEP IS SETTLED: say close the job."
    waits = [d for d in state.deadlines.values() if d.due > now and d.kind is not Waits.TIMER]
    soonest = min(waits, key=lambda d: d.due, default=None)
    return f"WAITING: {soonest.told(now)}." if soonest else "WAITING: say what is open."


def prompt(state: State, now: datetime) -> str:
    """What is to be said now, with a step on the screen."""
    step = state.shown_step
    if state.closed or step is None:
        return ""
    if state.question:
        return state.asked
    if state.held:
        return HELD
    if state.looking_at:
        return "An earlier step: say carry on to return, or undo to do it again."
    want = first_want(state, step)
    asked = f"{want.prompt} Then say done." if want.kind is Kind.STAGE else sentence(want.prompt)
    shut = refusal(state, step, now) or finishing_refusal(state, step, now)
    return f"Wait, then {asked[:1].lower()}{asked[1:]}" if shut and shut.until else asked


def hazards(state: State) -> list[str]:
    """Each hazard of the step and how to avoid it."""
    step = state.shown_step
    return [hazard_saying(h).text for h in step.hazards] if step and not state.closed else []


def failures(state: State) -> Iterator[str]:
    """Proofs that failed or were lost, and a reading outside of its limits, until each is put right."""
    procedure = state.procedure
    for energy, reading in state.failed_proofs.items():
        measure, words = proof_measure(procedure, energy), energy_words(procedure.energy[energy])
        wanted = f", not {limits(measure)}" if measure else ""
        value = f"{reading.value:.12g} {reading.unit}"
        again = sentence(f"{words.isolate_again}, then measure again")
        yield f"PROOF FAILED: {words.still}, {value}{wanted}. {again}"
    lost = [e for e in state.to_prove if e not in state.failed_proofs]
    if lost:
        yield f"PROVE AGAIN: {listing([energy_words(procedure.energy[e]).unproved for e in lost])}."
    yield from _out_of_limits(state, state.step)


def _out_of_limits(state: State, step: Step | None) -> Iterator[str]:
    reading = state.reading
    measure = measure_of(state.procedure, step) if step else None
    if step and measure and reading and not reading.within and not step.proves:
        yield f"OUT OF LIMITS: {reading.value:.12g} {reading.unit}, not {limits(measure)}."


def alarm(state: State, now: datetime) -> str:
    """What must be seen from across the workshop: the visual twin of what is repeated aloud."""
    if state.check_in_stage >= ALARM_STAGE:
        return "ALARM: NO ANSWER FROM THE MECHANIC"
    if state.check_in_stage:
        return "ARE YOU ALL RIGHT? Say got it"
    due = [d for d in state.deadlines.values() if d.due <= now and d.priority > Priority.ROUTINE]
    if not due:
        return ""
    more = f" (and {len(due) - 1} more)" if len(due) > 1 else ""
    return f"{min(due, key=lambda d: d.due).what}{more} Say got it"


def next_step(state: State, now: datetime) -> str:
    """The step after this one, as far as the order and what waits tell."""
    if state.closed:
        return ""
    settled = {*state.settled, state.current}
    after = [
        step
        for step in state.procedure.steps
        if step.id not in settled and settled.issuperset(state.procedure.predecessors(step.id))
    ]
    ready = [step for step in after if not _waits(state, step, now)]
    return f"next: {(ready or after)[0].say}" if after else ""


def _waits(state: State, step: Step, now: datetime) -> bool:
    shut = refusal(state, step, now)
    return shut is not None and shut.until is not None


def meanwhile(state: State, now: datetime) -> str:
    """What can be done in place of the step in hand while something waits, and what to say for it."""
    found = [(state.procedure.number(step.id), step.say) for step in other_steps(state, now)]
    return " ".join(f"Or step {n}: {say} Say step {n}." for n, say in found)


def waits(state: State, now: datetime) -> list[tuple[str, str]]:
    """What waits, the soonest first: how long, and for what."""
    return [
        (short(d.due - now), d.name) if d.due > now else ("NOW", d.what)
        for d in sorted(state.deadlines.values(), key=lambda d: d.due)
    ]
