"""A step is skipped, for a reason: what stays open is told at once, and which step waits for it."""

from collections.abc import Iterator, Sequence

from companion.job.facts import events as ev
from companion.job.facts.said.questions import SkipReason
from companion.job.facts.state import State
from companion.job.rules.gates import waiting_for
from companion.job.rules.ledger import OpenItem, open_things, stays
from companion.job.turns.next_step import advance
from companion.job.turns.turn import Turn
from companion.job.words.reading_out import named
from companion.job.words.sentences import in_threes
from companion.procedure.energy_words import energy_words
from companion.procedure.model import Step


def ask_to_skip(turn: Turn, reason: str) -> None:
    """ "Skip", perhaps with why."""
    step = turn.state.step
    why_not = may_skip(turn.state, step) if step else "there is no step to skip"
    if why_not or step is None:
        turn.refuse("skip", why_not or "")
    elif reason:
        skip(turn, reason)
    else:
        number = turn.state.procedure.number(step.id)
        turn.ask(SkipReason(step.id), f"Skip step {number}. Why?")


def skip(turn: Turn, reason: str) -> None:
    """Leave the step out, for a spoken reason. What it would have closed stays open."""
    step = turn.state.step
    why_not = may_skip(turn.state, step) if step else "there is no step to skip"
    if why_not or step is None:
        turn.refuse("skip", why_not or "")
        return
    turn.record(ev.StepSkipped(step=step.id, reason=reason))
    lead = f"Step {turn.state.procedure.number(step.id)} skipped: {reason}."
    left = [thing for thing in open_things(turn.state) if thing.closed_by == step.id]
    if left:
        turn.say(lead)
        for text in in_threes([*map(stays, left), *_holds_up(turn, step, left)]):
            turn.say(text)
    advance(turn, "" if left else lead)


def _holds_up(turn: Turn, skipped: Step, left: Sequence[OpenItem]) -> Iterator[str]:
    """Which step to come waits for what was skipped."""
    about = {skipped.id, *(thing.id for thing in left)}
    waiting = waiting_for(turn.state, about, turn.wall)
    if waiting:
        what = "it" if len(left) == 1 and " are " not in left[0].text else "them"
        yield f"{named(turn.state, waiting)} waits for {what}."


def may_skip(state: State, step: Step) -> str | None:
    """Why a step may not be skipped at all; None when it may."""
    procedure = state.procedure
    if step.isolates:
        return f"later work needs {energy_words(procedure.energy[step.isolates]).needed}"
    if step.proves:
        return f"it must be proved that {energy_words(procedure.energy[step.proves]).proved}"
    if step.wait is not None:
        return "the wait cannot be skipped"
    return None
