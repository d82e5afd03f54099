"""What can be said now. The recogniser listens for this and no more, so keep it short."""

from dataclasses import dataclass, replace

from companion.job.facts.commands import Command, When
from companion.job.facts.deadlines import Kind as DeadlineKind
from companion.job.facts.said.questions import (
    AdviceUnderstood,
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
from companion.job.rules.ledger import not_closable
from companion.job.rules.may_be_left_out import names_to_leave, steps_to_leave
from companion.job.rules.wants import Kind, first_want, measure_of, proof_measure, proof_words

LEAVES = (Command.NO, Command.SCRATCH_THAT, Command.UNDO)
"""Each of these drops a question that wants words or a length, and says no to what is read back."""


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
    question = state.question
    if isinstance(question, ForWords) and not state.closed:
        beside = (c for c in expected(replace(state, question=None)).commands if c is not Command.NOTE)
        said = tuple(dict.fromkeys((*LEAVES, *beside)))  # "note" is near "no"
        return Expecting(said, free_speech=True, names_a_part=isinstance(question, PartName))
    where = place(state)
    commands = tuple(c for c in Command if where in c.row.when and _has_a_use(state, c))
    if where is When.LENGTH:
        return Expecting(commands, durations=True)
    if isinstance(question, Proof) and where is When.PROOF:
        measure = proof_measure(state.procedure, question.energy)
        words = () if measure else (proof_words(state.procedure, question.energy),)
        return Expecting(commands, words, reading=measure.unit if measure else None)
    leaves_out = names_to_leave(state) if where in Command.LEAVE_OUT.row.when else ()
    if where is When.AT_STEP and state.step:
        want = first_want(state, state.step)
        measure = measure_of(state.procedure, state.step)
        return Expecting(
            commands,
            states=want.states,
            number=state.counted + 1 if want.kind is Kind.COUNT else None,
            reading=measure.unit if measure and want.kind is Kind.READING else None,
            steps=_offered(state),
            leaves_out=leaves_out,
        )
    return Expecting(commands, steps=_offered(state) if where is When.BETWEEN else (), leaves_out=leaves_out)


def place(state: State) -> When:
    """What is being asked, or else where the job stands. Words may be asked for anywhere."""
    if state.closed:
        return When.CLOSED
    if isinstance(state.question, ReadBack):
        return When.READ_BACK
    if isinstance(state.question, YesOrNo):
        return When.YES_OR_NO
    if isinstance(state.question, ForLength):
        return When.LENGTH
    if isinstance(state.question, Proof):
        return When.PROOF
    if state.held:
        return When.HELD
    if state.step is None:
        return When.BETWEEN
    return When.LOOKING if state.looking_at else When.AT_STEP


def _offered(state: State) -> tuple[int, ...]:
    """Numbers of the steps that can be taken up instead, as of the last event."""
    if state.last is None:
        return ()
    return tuple(state.procedure.number(step.id) for step in other_steps(state, state.last.wall))


def _has_a_use(state: State, command: Command) -> bool:
    """Could the command mean anything now? Not those that are listened for by their words or value."""
    match command:
        case Command.GOT_IT:
            reminded = any(d.acknowledgeable for d in state.deadlines.values())
            return reminded or state.check_in_stage > 0 or isinstance(state.question, AdviceUnderstood)
        case Command.CANCEL_TIMER:
            return _runs(state, DeadlineKind.TIMER)
        case Command.PART_HERE:
            return _runs(state, DeadlineKind.PART_EXPECTED)
        case Command.SCRATCH_THAT:
            return state.fresh_note is not None or isinstance(state.question, ReadBack | ForLength)
        case Command.AGAIN:
            return state.fresh_note is not None
        case Command.LEAVE_OUT:
            return next(steps_to_leave(state), None) is not None
        case Command.CLOSE_JOB:
            return not not_closable(state)
        case Command.HOLD:
            return not state.held
        case Command.AWAIT_PART:
            return isinstance(state.question, PartOnBench | None)
        case Command.STATE | Command.READING | Command.COUNT | Command.STEP:
            return False
        case Command.WORDS | Command.DURATION:
            return False
        case _:
            return True


def _runs(state: State, kind: DeadlineKind) -> bool:
    return any(deadline.kind is kind for deadline in state.deadlines.values())
