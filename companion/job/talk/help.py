"""Help: what can be said now. What is wanted comes first, then questions that have an answer, then the rest.

Nothing is offered that would be refused. A list longer than two sayings goes on when help is said again.
"""

from collections.abc import Iterable, Iterator
from datetime import timedelta

from companion.job.facts.commands import Command, Help, Kind
from companion.job.facts.said.given import Count, Given, Length, Measured, SpokenState, StepNumber, Words
from companion.job.facts.said.questions import Proof
from companion.job.rules.expected import Expecting, expected
from companion.job.talk.looking_ahead import Obey, would_be_refused
from companion.job.turns.turn import Turn
from companion.job.words.reading_out import has_answer
from companion.procedure.numbers import number
from companion.procedure.unit_table import unit_name

A_SAYING = 5
"""No more than this in one saying."""
SAYINGS = 2
"""No more of them at once."""

Offer = tuple[str, Command, Given | None]
"""The words as they are offered, and what they would mean."""


def tell_what_can_be_said(turn: Turn, obey: Obey) -> None:
    """Tell one group. Said again right after, help tells the next one, and after the last the first."""
    words = what_can_be_said(turn, obey)
    group = A_SAYING * SAYINGS
    groups = -(-len(words) // group)
    times = turn.state.in_a_row - 1 if turn.state.last_command == Command.HELP else 0
    told = words[times % groups * group :][:group]
    more = " Say help again for more." if groups > 1 else ""
    turn.say(f"Say {', '.join(told[:A_SAYING])}.{'' if told[A_SAYING:] else more}")
    if told[A_SAYING:]:
        turn.say(f"Or {', '.join(told[A_SAYING:])}.{more}")


def what_can_be_said(turn: Turn, obey: Obey) -> list[str]:
    """All that can be said now, in the order in which it is likely to be wanted."""
    can = expected(turn.state)
    wanted = _allowed(turn, obey, _wanted(can)) or [Command.WHAT_IS_WAITING.value]
    beside = _allowed(turn, obey, [*_questions(turn, can), *_others(can)])
    return list(dict.fromkeys([*wanted, *beside]))


def _allowed(turn: Turn, obey: Obey, offers: Iterable[Offer]) -> list[str]:
    return [words for words, command, given in offers if not would_be_refused(turn, obey, command, given)]


def _wanted(can: Expecting) -> Iterator[Offer]:
    """What would go on with the job."""
    if can.free_speech:
        yield "it in your own words", Command.WORDS, Words("words")
    if can.durations:
        yield "a length of time, such as ten minutes", Command.DURATION, Length(timedelta(minutes=10))
    for words in can.states:
        yield words, Command.STATE, SpokenState(words)
    if can.reading:
        yield f"the reading in {unit_name(can.reading)}", Command.READING, Measured(1, can.reading)
    if can.number:
        yield number(can.number), Command.COUNT, Count(can.number)
    for command in can.commands:
        if command.row.help is Help.FIRST:
            yield command.value, command, None
    for n in can.steps:
        yield f"step {number(n)}", Command.STEP, StepNumber(n)


def _questions(turn: Turn, can: Expecting) -> Iterator[Offer]:
    """Questions about the step that have an answer. None while something else is asked."""
    step = turn.state.shown_step
    if step is None or not isinstance(turn.state.question, Proof | None):
        return
    for command in can.commands:
        if command.row.kind is Kind.ABOUT_STEP and has_answer(turn.state, step, command):
            yield command.value, command, None


def _others(can: Expecting) -> Iterator[Offer]:
    """The rest; what is about the companion itself comes last."""
    for command in can.commands:
        if command.row.help is Help.THEN and command.row.kind is not Kind.ABOUT_STEP:
            yield command.value, command, None
