"""What was not heard beyond doubt: asked back once, never guessed, and never past a gate."""

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.sayings import Tone
from companion.job.facts.state import Question
from companion.job.messages import NotUnderstood, Unsure
from companion.job.turns.asking import answer
from companion.job.turns.pausing import stop_work
from companion.job.turns.turn import Turn

NEVER_ON_A_GUESS = (Command.STATE, Command.READING, Command.CLOSE_JOB, Command.COUNT)
"""An unclear one of these is not even offered as "did you say": it must be said again."""


def unsure(turn: Turn, message: Unsure) -> None:
    """Something near a command: ask once whether it was meant."""
    asked_before = turn.state.asked_back
    guess = message.command if not asked_before else None
    turn.record(ev.Misheard(text=message.text, guess=guess, score=round(message.score, 4)))
    if message.command is Command.STOP_WORK:
        # Asking back could cost a hand; stopping for nothing costs a proof.
        stop_work(turn)
        turn.say("I was not sure that I heard stop work. If nothing is wrong, say carry on.")
    elif message.command in NEVER_ON_A_GUESS:
        turn.say("I am not sure what you said. Say it again.", tone=Tone.ERROR)
    elif asked_before or turn.state.question is not None:
        _list_what_can_be_said(turn)
    else:
        arguments = {f"argument {k}": v for k, v in message.arguments.items()}
        text = f"Did you say {message.text}? Yes or no?"
        turn.ask(Question.DID_YOU_SAY, text, command=message.command, **arguments)


def not_understood(turn: Turn, message: NotUnderstood) -> None:
    """Nothing that is known."""
    turn.record(ev.Misheard(text=message.text))
    if message.source == "keys" or turn.state.question is not None:
        _list_what_can_be_said(turn)


def _list_what_can_be_said(turn: Turn) -> None:
    turn.say("Sorry, I did not get that.", tone=Tone.ERROR)
    answer(turn, Command.HELP)
