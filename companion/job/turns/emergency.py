"""Stopping: the emergency, and a bare "stop", which silences the voice and may mean the emergency.

Doubt stops the work: asking back could cost a hand, stopping for nothing costs a proof.
"""

from datetime import timedelta

from companion.job.facts import events as ev
from companion.job.facts.said.questions import StopWork
from companion.job.facts.sayings import Priority, Tone
from companion.job.rules.ledger import energy_text
from companion.job.turns.turn import Turn
from companion.job.words.sentences import in_threes

TWICE_WITHIN = timedelta(seconds=15)
"""A second "stop" this soon after the first one may mean the work. Chosen here, no source."""


def stop_work(turn: Turn) -> None:
    """The emergency: hold everything and say where every energy source stands."""
    turn.record(ev.WorkStopped())
    turn.say("Work stopped. Keep clear.", Priority.DANGER, Tone.DANGER, safety=True)
    for text in in_threes([energy_text(turn.state, id_) for id_ in turn.state.procedure.energy]):
        turn.say(text, Priority.URGENT, safety=True)
    turn.say("Say carry on when it is safe.", safety=True)


def stop_unsure(turn: Turn) -> None:
    """Perhaps it was the emergency."""
    stop_work(turn)
    turn.say("I was not sure that I heard stop work. If nothing is wrong, say carry on.")


def stop(turn: Turn) -> None:
    """ "Stop": the mouth falls silent at the edge. Said again at once, it may mean the work."""
    before = turn.before.sign_of_life
    soon = before is not None and turn.now.mono - before.mono <= TWICE_WITHIN
    if isinstance(turn.state.question, StopWork):
        stop_work(turn)
    elif turn.state.in_a_row > 1 and soon:
        offer_stop_work(turn)


def offer_stop_work(turn: Turn) -> None:
    """Ask whether the work is meant; a question that was open waits until that is answered."""
    state = turn.state
    if state.closed or state.stopped:
        return
    asked = state.asked if state.question else ""
    turn.ask(StopWork(state.question, asked), "Stop work? Yes or no?")


def answer_stop_work(turn: Turn, question: StopWork, yes: bool) -> None:
    """Stop, or go on with what was asked before."""
    if yes:
        stop_work(turn)
        return
    turn.answered("no")
    if question.before is None:
        turn.say("Going on, then.")
    else:
        turn.ask(question.before, question.asked)
