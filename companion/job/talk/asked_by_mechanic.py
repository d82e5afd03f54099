"""Questions the mechanic asks: answered from the step and the state, never changing either."""

from collections.abc import Callable

from companion.job.left import longest_wait
from companion.job.rules.ledger import open_things
from companion.job.turns.reminders import waiting_sayings
from companion.job.turns.turn import Turn
from companion.job.words.reading_out import (
    counts,
    details,
    left_out_sayings,
    open_sayings,
    orders,
    sizes,
    step_sayings,
    to_go_saying,
    where_answer,
)
from companion.job.words.sentences import in_threes
from companion.job.words.torques import torque_answer
from companion.procedure.model import Step
from companion.procedure.units import short


def tell_of_step(turn: Turn, tell: Callable[[Turn, Step], list[str]]) -> None:
    """Answer a question about the step that is shown."""
    step = turn.state.shown_step
    for text in tell(turn, step) if step else ["No step is being worked on."]:
        turn.say(text)


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


def how_long_left(turn: Turn) -> None:
    left = turn.time_left.left(turn.state, turn.now)
    careful = f", {short(left.careful)} to be careful" if left.careful else ""
    turn.say(f"About {short(left.likely)} of work left{careful}, {left.because}.")
    wait = longest_wait(turn.state, turn.wall)
    if wait:
        turn.say(f"The longest wait has {short(wait)} left.")


def what_is_open(turn: Turn) -> None:
    for text in (*open_sayings(open_things(turn.state)), *left_out_sayings(turn.state)):
        turn.say(text)
    to_go = to_go_saying(turn.state)
    if to_go:
        turn.say(to_go)


def what_is_waiting(turn: Turn) -> None:
    for text in waiting_sayings(turn.state, turn.now):
        turn.say(text)


def more(turn: Turn, step: Step) -> list[str]:
    told = [*in_threes(details(turn.state, step)), *orders(step)]
    return told or ["There is no more to this step."]


def size(turn: Turn, step: Step) -> list[str]:
    return list(in_threes(sizes(step))) or ["No fasteners in this step."]


def count(turn: Turn, step: Step) -> list[str]:
    return list(in_threes(counts(step))) or ["There is nothing to count in this step."]


def tools(turn: Turn, step: Step) -> list[str]:
    return list(in_threes(step.tools)) or ["No special tools."]


def torque(turn: Turn, step: Step) -> list[str]:
    return [torque_answer(turn.state, step)]


def where(turn: Turn, step: Step) -> list[str]:
    return [where_answer(turn.state, step)]
