"""What a step still wants before it is done: counts, new fasteners, stages, seals, a reading, a state.

A `Want` is the first thing that a step still lacks. "Done" never stands in for one of them. A proving step
takes the reading of its energy source, even when the step names none.
"""

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from companion.job.facts.state import State
from companion.procedure.model import Act, Fastener, Measure, Procedure, SealUse, Step
from companion.procedure.nouns import bare, several, the, verb
from companion.procedure.unit_table import UNITS
from companion.procedure.units import Angle, Torque

NEW_SEAL = "new seal fitted"
SEAL_GOOD = "seal is fit to use"
SEAL_BAD = "renew the seal"
_WORD = re.compile(r"(?<!\w)[^\W\d_]+(?:['’-][^\W\d_]+)*(?!\w)")


class Kind(StrEnum):
    """The kind of answer that moves the step on."""

    COUNT = "count"
    FASTENERS = "fasteners"
    STAGE = "stage"
    SEAL = "seal"
    READING = "reading"
    STATE = "state"
    DONE = "done"


@dataclass(frozen=True)
class Want:
    """The next thing the step wants, and the words that give it."""

    kind: Kind
    prompt: str
    """As said aloud when "done" came too early."""
    states: tuple[str, ...] = ()
    """Spoken states that answer it."""
    about: str = ""
    """The seal or the fasteners concerned."""


@dataclass(frozen=True)
class Tightening:
    """One value to tighten to."""

    fastener: Fastener
    value: Torque | Angle
    stage: int
    """From 1, of `stages` for this fastener."""
    stages: int

    def __str__(self) -> str:
        turn = f"{self.value} further" if isinstance(self.value, Angle) else str(self.value)
        which = f"stage {self.stage} of {self.stages}: " if self.stages > 1 else ""
        count = self.fastener.count
        what = several(count, self.fastener.what) if count > 1 else self.fastener.what
        return f"{which}{what}, {turn}"


def tightenings(step: Step) -> tuple[Tightening, ...]:
    """Every torque and angle of a step, in order: one value at a time."""
    return tuple(
        Tightening(fastener, value, n, len(fastener.tightening))
        for fastener in step.fasteners
        for n, value in enumerate(fastener.tightening, start=1)
    )


def nothing_given(state: State, step: Step) -> bool:
    """Was the step only read so far? Then another may be taken up in its place."""
    mended = any(seal in state.mended_seals for seal in step.renews)
    return not (state.counted or state.stage or state.reading or state.new_fasteners or mended)


def first_want(state: State, step: Step) -> Want:
    """The first thing that is missing before the step is done."""
    if step.count and state.counted < step.count:
        each = step.each or "one"
        return Want(Kind.COUNT, f"{state.counted or 'none'} of {step.count} counted, count each {each}")
    for what in new_fasteners(step):
        if what not in state.new_fasteners:
            said = new_words(what)
            return Want(Kind.FASTENERS, f'{said}? Say "{said}"', (said,), what)
    values = tightenings(step)
    if state.stage < len(values):
        return Want(Kind.STAGE, str(values[state.stage]))
    for id_ in step.renews:
        if id_ in state.open_seals:
            return _seal_want(state, id_)
    measure = measure_of(state.procedure, step)
    if measure and not (state.reading and state.reading.within):
        return Want(Kind.READING, measure_prompt(measure))
    words = step.state or (proof_words(state.procedure, step.proves) if step.proves else None)
    if words and not (step.proves and measure):
        return Want(Kind.STATE, f'say "{words}"', (words,))
    return Want(Kind.DONE, "say done")


def new_fasteners(step: Step) -> tuple[str, ...]:
    """Fasteners of which new ones go in with this step, by name. A step that takes them out wants none."""
    going_in = step.act in (Act.FIT, Act.CONNECT, Act.TIGHTEN)
    names = (f.what for f in step.fasteners if f.renew and (going_in or f.tightening))
    return tuple(dict.fromkeys(names))


def new_words(fasteners: str) -> str:
    """How they are said to be new: "new carrier bolts". Words alone, so that they can be heard."""
    words = _WORD.findall(bare(fasteners)) or ["fasteners"]
    return " ".join(words if words[0] == "new" else ["new", *words])


def measure_of(procedure: Procedure, step: Step) -> Measure | None:
    """What is read off in this step: the proof of its energy source where there is one, else its own."""
    return (step.proves and procedure.energy[step.proves].prove) or step.measure


def proof_measure(procedure: Procedure, energy: str) -> Measure | None:
    """The reading that proves a source dead; None where a spoken state does."""
    own = (s.measure for s in procedure.steps if s.proves == energy and s.measure)
    return procedure.energy[energy].prove or next(own, None)


def proof_words(procedure: Procedure, energy: str) -> str:
    """The spoken state that proves a source dead where no reading does."""
    for step in procedure.steps:
        if step.proves == energy and step.state:
            return step.state
    return f"{procedure.energy[energy].name} proved dead"


def _seal_want(state: State, id_: str) -> Want:
    seal = state.procedure.seals[id_]
    if seal.use is SealUse.SINGLE or id_ in state.bad_seals:
        return Want(Kind.SEAL, f'new {bare(seal.name)}? Say "{NEW_SEAL}"', (NEW_SEAL,), id_)
    fit = f"{verb(seal.name)} {the(seal.name)} fit to use?"
    prompt = f'{fit} Say "{SEAL_GOOD}", "{SEAL_BAD}" or "{NEW_SEAL}"'
    return Want(Kind.SEAL, prompt, (SEAL_GOOD, SEAL_BAD, NEW_SEAL), id_)


def limits(measure: Measure) -> str:
    """The limits as said aloud: "at most 0.5 V"."""
    low, high, unit = measure.at_least, measure.at_most, measure.unit
    if low is not None and high is not None:
        return f"between {low:g} and {high:g} {unit}"
    if high is not None:
        return f"at most {high:g} {unit}"
    return f"at least {low:g} {unit}" if low is not None else f"in {unit}"


def measure_prompt(measure: Measure) -> str:
    """How a reading is asked for."""
    return f"say the reading, {measure.what}, {limits(measure)}"


def within(measure: Measure, value: float) -> bool:
    """Is the value inside the limits (inclusive)? No value that is no finite number is.

    A voltage or current read with the leads the other way round is as live: its sign does not count.
    """
    if not math.isfinite(value):
        return False
    value = abs(value) if UNITS[measure.unit].signless else value
    over = measure.at_most is not None and value > measure.at_most
    under = measure.at_least is not None and value < measure.at_least
    return not (over or under)
