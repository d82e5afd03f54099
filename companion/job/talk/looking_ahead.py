"""What would come of a command, tried on paper: nothing of it is logged or said."""

from collections.abc import Callable
from dataclasses import replace

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said.given import Given
from companion.job.facts.said.questions import StepWanted
from companion.job.facts.state import State
from companion.job.turns.next_step import advance, choose
from companion.job.turns.step_in_hand import finish
from companion.job.turns.turn import Turn

Obey = Callable[[Turn, Command, Given | None, str | None], None]
"""Carries a command out."""


def would_be_refused(turn: Turn, obey: Obey, command: Command, given: Given | None) -> bool:
    """Would the job refuse this now? A "carry on" that leads nowhere counts as refused, too."""
    paper = Turn(turn.state, turn.now, turn.time_left)
    obey(paper, command, given, None)
    goes_on = any(isinstance(event, _GOING_ON) for event in paper.events)
    refused = any(isinstance(event, ev.Refused) for event in paper.events)
    return refused or (command is Command.CARRY_ON and not goes_on)


_GOING_ON = (ev.StepBegun, ev.Asked, ev.JobCarriedOn, ev.LookEnded)


def what_is_next(turn: Turn) -> str:
    """What comes after the step being worked on, or, between two steps, what comes at all."""
    state = turn.state
    after, nothing = ("After this", "After this nothing") if state.step else ("Next", "Nothing")
    paper = Turn(replace(state, question=None, to_prove=()), turn.now, turn.time_left)
    if state.step:
        for seal in state.step.renews:
            paper.record(ev.SealRenewed(seal=seal))
        finish(paper, state.step)
    else:
        advance(paper)
    coming = paper.state
    optional = coming.question if isinstance(coming.question, StepWanted) else None
    id_ = optional.step if optional else coming.current
    if id_ is not None:
        return f"{after}, {'if you want it, ' if optional else ''}{_step(coming, id_)}"
    shut = choose(coming, paper.wall)[1]
    if shut is None:
        return f"{after} the job can be closed."
    later = next((s.id for s in coming.procedure.steps if s.id not in coming.settled), None)
    then = f" Then {_step(coming, later)}" if later else ""
    return f"{nothing} can be done at once: {shut.reason}.{then}"


def _step(state: State, id_: str) -> str:
    return f"step {state.procedure.number(id_)}: {state.procedure.step(id_).say}"
