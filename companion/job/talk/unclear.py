"""What was not heard beyond doubt: asked back once, never guessed, and never past a gate.

What was not understood at all is told by a soft tone, since nobody under a car looks at the screen; but only
where somebody seems to have spoken to the companion, and not all day long.
"""

from datetime import timedelta

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import MISSED_KEPT
from companion.job.facts.said.questions import DidYouSay, StopWork
from companion.job.facts.sayings import Tone
from companion.job.messages import NotUnderstood, Unsure
from companion.job.turns.emergency import stop, stop_unsure
from companion.job.turns.turn import Turn

HINT = "Say help to hear what I listen for."
HINT_AFTER = 2
"""After so many in a row that were not understood the hint comes, once. Chosen here, no source."""
A_WHILE = timedelta(minutes=1)
"""No more than `MISSED_KEPT` tones in this time: people talk to each other too. Chosen here, no source."""
ANSWERED_WITHIN = timedelta(seconds=15)
"""What is said so soon after a question is taken for an answer to it. Chosen here, no source."""


def unsure(turn: Turn, message: Unsure) -> None:
    """Something near a command: ask once whether it was meant."""
    asked_before = turn.state.asked_back
    again = asked_before or turn.state.question is not None
    guess = message.command if not asked_before else None
    unclear = ev.Misheard(text=message.text, guess=guess, score=round(message.score, 4))
    if message.command is Command.STOP_WORK or isinstance(turn.state.question, StopWork):
        turn.record(unclear)
        stop_unsure(turn)
    elif message.command is Command.STOP:
        # Silence harms nobody, and it counts as the first of two.
        turn.record(ev.HeardCommand(command=message.command, text=message.text, score=unclear.score))
        stop(turn)
    elif not message.command.row.guessed:
        turn.record(unclear)
        turn.say("I am not sure what you said. Say it again.", tone=Tone.ERROR)
    elif again:
        _missed(turn, unclear, _may_sound(turn))
    else:
        turn.record(unclear)
        text = f"Did you say {message.text}? Yes or no?"
        turn.ask(DidYouSay(message.command, message.given), text)


def not_understood(turn: Turn, message: NotUnderstood) -> None:
    """It was nothing that is known. As an answer to "stop work?" it counts as a yes."""
    meant = message.source == "keys" or (_spoken_to(turn, message) and _may_sound(turn))
    if isinstance(turn.state.question, StopWork):
        turn.record(ev.Misheard(text=message.text))
        stop_unsure(turn)
    else:
        _missed(turn, ev.Misheard(text=message.text), meant)


def _missed(turn: Turn, unclear: ev.Misheard, told: bool) -> None:
    """Log it, and tell by a tone; the second in a row is helped by a word."""
    turn.record(unclear.model_copy(update={"told": told}))
    if not told:
        return
    turn.sound(Tone.NOT_UNDERSTOOD)
    if turn.state.missed == HINT_AFTER:
        turn.say(turn.state.asked if turn.state.question else HINT)


def _spoken_to(turn: Turn, message: NotUnderstood) -> bool:
    """Was the companion spoken to? Yes, when it sounded like a command, or came soon after a question."""
    state = turn.state
    just_asked = state.question is not None and state.asked_at is not None
    soon = just_asked and state.asked_at and turn.now.mono - state.asked_at.mono <= ANSWERED_WITHIN
    return message.near or (message.short and bool(soon))


def _may_sound(turn: Turn) -> bool:
    """May a tone be heard? Not in a hold without a question, not in a closed job, and not too often."""
    state = turn.state
    resting = state.closed or (state.held and state.question is None)
    lately = [at for at in state.missed_at if timedelta() <= turn.now.mono - at < A_WHILE]
    return not resting and len(lately) < MISSED_KEPT
