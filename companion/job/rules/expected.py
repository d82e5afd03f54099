"""What can be said now. The recogniser listens for this and no more, so keep it short."""

from dataclasses import dataclass, replace

from companion.job.facts.commands import Command
from companion.job.facts.deadlines import Kind as DeadlineKind
from companion.job.facts.said.questions import (
    ForLength,
    ForWords,
    PartName,
    PartOnBench,
    Proof,
    ReadBack,
    YesOrNo,
)
from companion.job.facts.state import State
from companion.job.rules.choice import other_steps
from companion.job.rules.leaving import names_to_leave, steps_to_leave
from companion.job.rules.ledger import not_closable
from companion.job.rules.wants import Kind, measure_of, proof_measure, proof_words, wanting

ALWAYS = (
    Command.REPEAT,
    Command.HELP,
    Command.STOP_TALKING,
    Command.STOP,
    Command.STOP_WORK,
    Command.LOUDER,
    Command.QUIETER,
    Command.SLOWER,
    Command.FASTER,
)
ASKING = (
    Command.WHAT_SIZE,
    Command.WHAT_TORQUE,
    Command.HOW_MANY,
    Command.WHERE,
    Command.WHAT_TOOLS,
    Command.MORE,
)
JOB = (
    Command.NOTE,
    Command.HOW_LONG_LEFT,
    Command.WHAT_IS_OPEN,
    Command.WHAT_IS_WAITING,
    Command.WHAT_IS_NEXT,
    Command.START_TIMER,
    Command.UNDO,
)
LEAVES = (Command.NO, Command.SCRATCH_THAT, Command.UNDO)
"""What leaves a question for something of the mechanic's own, or takes back what is being read back."""


@dataclass(frozen=True)
class Expecting:
    """The closed set of things that can be said."""

    commands: tuple[Command, ...]
    states: tuple[str, ...] = ()
    number: int | None = None
    """The next number of a count."""
    durations: bool = False
    reading: str | None = None
    """The unit of a measured value."""
    steps: tuple[int, ...] = ()
    """Numbers of the steps that are offered beside the one in hand."""
    free_speech: bool = False
    """The next utterance is the mechanic's own words, unless it is one of the commands and nothing else."""
    names_a_part: bool = False
    """Those words name a part, and may end in the time until it is there."""
    leaves_out: tuple[str, ...] = ()
    """Names of what can be left out for good, as in "leave the oil strainer out"."""


def expected(state: State) -> Expecting:
    """What can be said in this state."""
    extra = _about_waiting(state)
    if state.closed:
        return Expecting((*ALWAYS, Command.WHAT_IS_WAITING, *extra))
    question = state.question
    if isinstance(question, ForWords):
        beside = (c for c in expected(replace(state, question=None)).commands if c is not Command.NOTE)
        said = tuple(dict.fromkeys((*LEAVES, *beside)))  # "note" is near "no"
        part = isinstance(question, PartName)
        return Expecting(said, free_speech=True, names_a_part=part)
    if isinstance(question, YesOrNo | ReadBack):
        waiting = (Command.AWAIT_PART,) if isinstance(question, PartOnBench) else ()
        leaves = LEAVES if isinstance(question, ReadBack) else (Command.NO,)
        hold = () if state.held else (Command.HOLD,)
        return Expecting((Command.YES, *leaves, *waiting, *hold, *ALWAYS, *extra))
    if isinstance(question, ForLength):
        hold = () if state.held else (Command.HOLD,)
        return Expecting((*LEAVES, *hold, *ALWAYS, *extra), durations=True)
    if isinstance(question, Proof):
        energy = question.energy
        measure = proof_measure(state.procedure, energy)
        words = () if measure else (proof_words(state.procedure, energy),)
        commands = (*ALWAYS, *(c for c in JOB if c is not Command.UNDO), Command.HOLD, *extra)
        return Expecting(commands, words, reading=measure.unit if measure else None)
    if state.held:
        return Expecting((Command.CARRY_ON, Command.AWAIT_PART, *ALWAYS, *JOB, *extra))
    step = state.step
    names = names_to_leave(state)
    extra += (Command.LEAVE_OUT,) if next(steps_to_leave(state), None) else ()
    if step is None:
        closing = () if not_closable(state) else (Command.CLOSE_JOB,)
        between = (Command.GO_BACK, Command.HOLD, Command.AWAIT_PART, Command.CARRY_ON)
        return Expecting((*closing, *between, *ALWAYS, *JOB, *extra), steps=_offered(state), leaves_out=names)
    if state.looking_at:
        looking = (Command.CARRY_ON, Command.DONE, Command.GO_BACK, Command.HOLD)
        return Expecting((*looking, *ALWAYS, *ASKING, *JOB, *extra), leaves_out=names)
    moving = (Command.DONE, Command.GO_BACK, Command.SKIP, Command.HOLD, Command.AWAIT_PART)
    want = wanting(state, step)
    measure = measure_of(state.procedure, step)
    return Expecting(
        (*moving, *ALWAYS, *ASKING, *JOB, *extra),
        states=want.states,
        number=state.counted + 1 if want.kind is Kind.COUNT else None,
        reading=measure.unit if measure and want.kind is Kind.READING else None,
        steps=_offered(state),
        leaves_out=names,
    )


def _offered(state: State) -> tuple[int, ...]:
    """As it stood when something last happened."""
    if state.last is None:
        return ()
    return tuple(state.procedure.number(step.id) for step in other_steps(state, state.last.wall))


def _about_waiting(state: State) -> tuple[Command, ...]:
    """Commands that only make sense while something waits for them."""
    parts = any(d.kind is DeadlineKind.PART_EXPECTED for d in state.deadlines.values())
    acknowledge = any(d.acknowledgeable for d in state.deadlines.values()) or state.check_in_stage > 0
    timers = any(d.kind is DeadlineKind.TIMER for d in state.deadlines.values())
    note = (Command.SCRATCH_THAT, Command.AGAIN) if state.fresh_note else ()
    return (
        *((Command.GOT_IT,) if acknowledge else ()),
        *((Command.CANCEL_TIMER,) if timers else ()),
        *((Command.PART_HERE,) if parts else ()),
        *note,
    )
