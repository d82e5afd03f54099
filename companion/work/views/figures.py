"""The numbers that are wanted now, the most needed first: torque, stage, size, count, limits, time left."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

from companion.job.facts.deadlines import DAYS, Deadline, running
from companion.job.facts.deadlines import Kind as Waits
from companion.job.facts.ids import isolation_wait_id, step_wait_id
from companion.job.facts.said.questions import Proof, ReadingRight
from companion.job.facts.state import State
from companion.job.rules.wants import Kind, Tightening, first_want, measure_of, proof_measure, tightenings
from companion.job.words.reading_out import drive
from companion.procedure.model import Fastener, Measure, Step
from companion.procedure.units import Torque, short


@dataclass(frozen=True)
class Figure:
    """One number."""

    number: str
    """As shown in large numerals: "25", "1/2", "T30"."""
    caption: str
    """What stands beneath: "N·m", "stage", "mm hex"."""
    words: str
    """The same in small letters: "25 N·m", "stage 1 of 2", "10 mm hex"."""


def figures(state: State, now: datetime) -> list[Figure]:
    """What is wanted now, or what is waited for."""
    if state.closed:
        return []
    question = state.question
    if isinstance(question, ReadingRight):
        value, unit = f"{question.value:.12g}", question.unit
        return [Figure(value, unit, f"{value} {unit}")]
    waited = _waited_for(state, now)
    left = [_left(waited, now)] if waited else []
    if isinstance(question, Proof):
        return [*left, *_limits(proof_measure(state.procedure, question.energy))]
    step = state.shown_step
    return [*left, *(_of_step(state, step) if step else ())] or _soonest(state, now)


def _soonest(state: State, now: datetime) -> list[Figure]:
    """The wait that is over first, where nothing else is to be read."""
    waits = [d for d in running(state.deadlines.values(), now) if d.kind not in DAYS]
    return [
        Figure(clock(d.due - now), f"{_unit(d.due - now)} left, {d.name}", d.told(now)) for d in waits[:1]
    ]


def _waited_for(state: State, now: datetime) -> Deadline | None:
    """The wait that holds the work up now."""
    running = {d.id: d for d in state.deadlines.values() if d.due > now}
    if isinstance(state.question, Proof):
        return running.get(isolation_wait_id(state.question.energy))
    step = state.step
    if step:
        own = running.get(step_wait_id(step.id))
        return own or (running.get(isolation_wait_id(step.proves)) if step.proves else None)
    waits = [d for d in running.values() if d.kind is not Waits.TIMER]
    return min(waits, key=lambda d: d.due, default=None)


def _left(deadline: Deadline, now: datetime) -> Figure:
    left = deadline.due - now
    return Figure(clock(left), f"{_unit(left)} to wait", f"{short(left)} to wait")


def _unit(left: timedelta) -> str:
    return "hours" if left >= timedelta(hours=1) else "minutes"


def clock(left: timedelta) -> str:
    """Minutes and seconds, or hours and minutes; rounded up, so that no wait looks shorter than it is."""
    seconds = ceil(round(left.total_seconds(), 2))
    if seconds < 3600:
        return f"{seconds // 60}:{seconds % 60:02}"
    minutes = ceil(seconds / 60)
    return f"{minutes // 60}:{minutes % 60:02}"


def _of_step(state: State, step: Step) -> Iterator[Figure]:
    if state.looking_at:
        yield from (f for fastener in step.fasteners for f in _sizes(fastener, named=True))
        return
    want = first_want(state, step)
    values = tightenings(step)
    if want.kind is Kind.COUNT:
        counted, each = state.counted, step.each or ""
        yield Figure(
            f"{counted}/{step.count}", f"counted, {each}".rstrip(", "), f"{counted} of {step.count} counted"
        )
    elif want.kind is Kind.STAGE:
        yield from _tightening(values[state.stage])
        return
    elif want.kind is Kind.READING:
        yield from _limits(measure_of(state.procedure, step))
    several = len(step.fasteners) > 1
    for fastener in step.fasteners:
        yield from _sizes(fastener, named=several)


def _tightening(now: Tightening) -> Iterator[Figure]:
    if isinstance(now.value, Torque):
        number = f"{now.value.newton_metres:g}"
        yield Figure(number, "N·m", f"{number} N·m")
    else:
        number = f"{now.value.degrees:g}°"
        yield Figure(number, "further", f"{number} further")
    if now.stages > 1:
        yield Figure(f"{now.stage}/{now.stages}", "stage", f"stage {now.stage} of {now.stages}")
    yield from _sizes(now.fastener, named=False)


def _sizes(fastener: Fastener, named: bool) -> Iterator[Figure]:
    """The tool, and how many there are; with the name of the fastener where there are several kinds."""
    size = drive(fastener) or ""
    number, _, kind = size.partition(" ")
    many = f"{fastener.count} × " if fastener.count > 1 else ""
    name = f", {many}{fastener.what}" if named else ""
    if size:
        yield Figure(number, kind + name, f"{size}{name}")
    if fastener.count > 1 and not named:
        yield Figure(str(fastener.count), fastener.what, f"{fastener.count} × {fastener.what}")


def _limits(measure: Measure | None) -> Iterator[Figure]:
    if measure is None:
        return
    for bound, value in (("at least", measure.at_least), ("at most", measure.at_most)):
        if value is not None:
            number = f"{value:g}"
            yield Figure(number, f"{measure.unit} {bound}", f"{bound} {number} {measure.unit}")
