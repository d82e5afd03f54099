"""Questions the mechanic asks: answered from the step and the state, never changing either."""

from collections.abc import Callable

from companion.job.facts.commands import Command
from companion.job.left import longest_wait
from companion.job.rules.ledger import open_things
from companion.job.talk.help import tell_what_can_be_said
from companion.job.talk.looking_ahead import Obey, what_is_next
from companion.job.turns.reminders import waiting_sayings
from companion.job.turns.turn import Turn
from companion.job.words.reading_out import (
    counts,
    details,
    left_out_sayings,
    open_sayings,
    sizes,
    step_sayings,
    to_go_saying,
    where_answer,
)
from companion.job.words.sentences import in_threes
from companion.job.words.torques import torque_answer
from companion.procedure.model import Step
from companion.procedure.units import short


def answer(turn: Turn, command: Command, obey: Obey) -> bool:
    """Answer a question about the step or the job; False when the command is no question."""
    if command is Command.HELP:
        tell_what_can_be_said(turn, obey)
        return True
    if about_job := _ABOUT_JOB.get(command):
        about_job(turn)
        return True
    if about_step := _ABOUT_STEP.get(command):
        step = turn.state.shown_step
        if step is None:
            turn.say("No step is being worked on.")
        else:
            for text in about_step(turn, step):
                turn.say(text)
        return True
    return False


def repeat(turn: Turn) -> None:
    """The open question again, or the step; between steps, why there is none."""
    step = turn.state.shown_step
    if turn.state.question is not None:
        turn.say(turn.state.asked)
    elif step:
        for saying in step_sayings(turn.state, step):
            turn.say(saying.text, saying.priority, saying.tone, saying.safety)
    else:
        turn.say("No step is being worked on. Say carry on to hear why.")


def _how_long_left(turn: Turn) -> None:
    left = turn.time_left.left(turn.state, turn.now)
    careful = f", {short(left.careful)} to be careful" if left.careful else ""
    turn.say(f"About {short(left.likely)} of work left{careful}, {left.because}.")
    wait = longest_wait(turn.state, turn.wall)
    if wait:
        turn.say(f"The longest wait has {short(wait)} left.")


def _what_is_open(turn: Turn) -> None:
    for text in (*open_sayings(open_things(turn.state)), *left_out_sayings(turn.state)):
        turn.say(text)
    to_go = to_go_saying(turn.state)
    if to_go:
        turn.say(to_go)


def _what_is_waiting(turn: Turn) -> None:
    for text in waiting_sayings(turn.state, turn.now):
        turn.say(text)


def _what_is_next(turn: Turn) -> None:
    turn.say(what_is_next(turn))


def _more(turn: Turn, step: Step) -> list[str]:
    return list(in_threes(details(turn.state, step))) or ["There is no more to this step."]


def _size(turn: Turn, step: Step) -> list[str]:
    return list(in_threes(sizes(step))) or ["No fasteners in this step."]


def _count(turn: Turn, step: Step) -> list[str]:
    return list(in_threes(counts(step))) or ["There is nothing to count in this step."]


def _tools(turn: Turn, step: Step) -> list[str]:
    return list(in_threes(step.tools)) or ["No special tools."]


_ABOUT_JOB: dict[Command, Callable[[Turn], None]] = {
    Command.REPEAT: repeat,
    Command.HOW_LONG_LEFT: _how_long_left,
    Command.WHAT_IS_OPEN: _what_is_open,
    Command.WHAT_IS_WAITING: _what_is_waiting,
    Command.WHAT_IS_NEXT: _what_is_next,
}
_ABOUT_STEP: dict[Command, Callable[[Turn, Step], list[str]]] = {
    Command.MORE: _more,
    Command.WHAT_SIZE: _size,
    Command.HOW_MANY: _count,
    Command.WHAT_TOOLS: _tools,
    Command.WHAT_TORQUE: lambda turn, step: [torque_answer(turn.state, step)],
    Command.WHERE: lambda turn, step: [where_answer(turn.state, step)],
}
