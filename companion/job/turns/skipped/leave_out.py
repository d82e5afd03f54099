"""Leaving something out for good: named, asked back, told why, and never forgotten.

All that one step would put back is left out together. Doing the step after all, or undo, takes it back.
"""

import re

from companion.job.facts import events as ev
from companion.job.facts.said.given import Thing
from companion.job.facts.said.questions import LeaveOut, LeaveOutReason
from companion.job.rules.ledger import OpenItem, Why, open_things
from companion.job.rules.may_be_left_out import left_by, steps_to_leave, why_not_ever, why_not_now
from companion.job.turns.next_step import advance, read
from companion.job.turns.turn import Turn
from companion.job.words.sentences import sentence
from companion.procedure.model import Step
from companion.procedure.nouns import bare, the
from companion.procedure.wording import listing

COMMAND = "leave it out"
NOTHING = listing([])
_WORD = re.compile(r"\w+")


def leave_out(turn: Turn, named: Thing) -> None:
    """ "Leave it out", or a thing by its name: asked back, or refused."""
    step = _meant(turn, named.name)
    if step is None:
        return
    why_not = why_not_now(turn.state, step) or why_not_ever(turn.state, step)
    if why_not:
        turn.refuse(COMMAND, why_not)
        return
    things = left_by(turn.state, step.id)
    turn.ask(LeaveOut(step.id, named.reason), f"{_asked(turn, things)} Yes or no?")


def _asked(turn: Turn, things: list[OpenItem]) -> str:
    items, seals = turn.state.procedure.items, turn.state.procedure.seals
    named = [the(items[thing.id].name) for thing in things if thing.why is Why.OPENED]
    if not named:
        return sentence(f"{things[0].text}. Leave it so for good?")
    ids = {thing.id for thing in things}
    old = listing([the(seals[seal].name) for seal in turn.state.open_seals if seals[seal].joint in ids])
    return f"Leave {listing(named)} out for good{f', and {old} with it' if old != NOTHING else ''}?"


def _meant(turn: Turn, name: str) -> Step | None:
    """The step that would put back what is named, or the one at hand; refused when there is none."""
    state = turn.state
    if name:
        return _by_name(turn, _plain(bare(name)))
    step = next(steps_to_leave(state), None) or state.shown_step
    if step is None:
        turn.refuse(COMMAND, "nothing is open that could be left out")
    return step


def _by_name(turn: Turn, words: str) -> Step | None:
    procedure = turn.state.procedure
    called = {thing: _plain(bare(procedure.items[thing.id].name)) for thing in _opened(turn)}
    named = [thing for thing, own in called.items() if own == words]
    named = named or [thing for thing, own in called.items() if own.endswith(f" {words}")]
    closers = {thing.closed_by for thing in named if thing.closed_by}
    if len(closers) == 1:
        return procedure.step(closers.pop())
    if closers:
        why_not = f"more than one thing is called that: say {listing([called[t] for t in named])}"
    elif any(_plain(bare(seal.name)) == words for seal in procedure.seals.values()):
        why_not = "a seal is not left out by itself: it is renewed, or goes with its joint"
    elif any(_plain(bare(energy.name)) == words for energy in procedure.energy.values()):
        why_not = "energy is brought back, never left out"
    else:
        why_not = f"nothing called {words} is open"
    turn.refuse(COMMAND, why_not)
    return None


def _opened(turn: Turn) -> list[OpenItem]:
    return [thing for thing in open_things(turn.state) if thing.why is Why.OPENED]


def _plain(name: str) -> str:
    return " ".join(_WORD.findall(name.casefold()))


def confirm_leaving(turn: Turn, question: LeaveOut, sure: bool) -> None:
    """The answer to "for good?"."""
    turn.answered("yes" if sure else "no")
    if not sure:
        turn.say("Then it is still to be put back.")
    elif question.reason:
        _leave(turn, question.step, question.reason)
    else:
        turn.ask(LeaveOutReason(question.step), "Why?")


def hear_why(turn: Turn, step_id: str, reason: str) -> None:
    """The reason, in the mechanic's words."""
    if not reason:
        turn.say("I need a reason to leave it out. Why?")
        return
    turn.answered(reason)
    _leave(turn, step_id, reason)


def _leave(turn: Turn, step_id: str, reason: str) -> None:
    """The step is settled first. If the log ends right after that, it is skipped and all of it is open."""
    state = turn.state
    step = state.procedure.step(step_id)
    why_not = why_not_now(state, step) or why_not_ever(state, step)
    if why_not:
        turn.refuse(COMMAND, why_not)
        return
    things = left_by(state, step_id)
    loose = any(thing.why is Why.LOOSE for thing in things)
    at_hand = step_id == state.current
    if at_hand or loose:
        turn.record(ev.StepSkipped(step=step_id, reason=reason, for_good=loose))
    for thing in things:
        if thing.why is Why.OPENED:
            turn.record(ev.ItemLeftOut(item=thing.id, reason=reason, by=state.mechanic))
    turn.say(f"{sentence(listing([thing.text for thing in things]))} Left so for good: {reason}.")
    _go_on(turn, at_hand)


def _go_on(turn: Turn, was_at_hand: bool) -> None:
    """To the next step, or back to the one at hand."""
    looked = turn.state.looking_at is not None
    if looked:
        turn.record(ev.LookEnded())
    if was_at_hand or turn.state.step is None:
        advance(turn)
    elif looked:
        read(turn, turn.state.step)
