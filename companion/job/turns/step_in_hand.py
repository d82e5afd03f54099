"""What the mechanic does in a step: done, counted, tightened, looked at again, undone.

Undo is last in, first out. It opens again what the step closed, and treats energy as live or unproved.
"""

from companion.job.facts import events as ev
from companion.job.facts.state import How, State
from companion.job.rules.gates import Refusal, Shut, finishing_refusal, refusal
from companion.job.rules.wants import NEW_SEAL, SEAL_BAD, SEAL_GOOD, Kind, Want, first_want, new_words
from companion.job.turns.next_step import advance, read, redo, way_through
from companion.job.turns.proof import ask_proof
from companion.job.turns.step_waits import start_waits
from companion.job.turns.turn import Turn
from companion.job.words.reading_out import step_sayings
from companion.job.words.sentences import sentence
from companion.procedure.model import Step
from companion.procedure.nouns import the


def move_on(turn: Turn, spoken: str | None = None) -> None:
    """ "Done", or a spoken state: one thing the step wanted is given; it ends when it wants no more."""
    step = turn.state.step
    if step is None:
        advance(turn)
        return
    shut = refusal(turn.state, step, turn.wall) or finishing_refusal(turn.state, step, turn.wall)
    if shut:
        refuse_shut(turn, "done", shut)
        return
    want = first_want(turn.state, step)
    if spoken is not None and spoken in want.states:
        _spoken(turn, step, want, spoken)
    elif spoken is not None:
        turn.refuse("state", f"this step wants something else; {want.prompt}")
    elif want.kind is Kind.STAGE:
        turn.record(ev.StageDone(step=step.id, stage=turn.state.stage + 1))
        go_on(turn, step)
    elif want.kind is Kind.DONE:
        finish(turn, step)
    else:
        turn.refuse("done", want.prompt)


def refuse_shut(turn: Turn, command: str, shut: Refusal) -> None:
    """Say why the step in hand may not go on, and begin what must come first, if anything must."""
    turn.refuse(command, shut.reason)
    if turn.state.to_prove:
        ask_proof(turn)
    elif shut.gate in (Shut.SKIN_OVER, Shut.BURIED, Shut.PRESSED):
        again = way_through(turn.state, shut)
        for step_id in again:
            redo(turn, step_id)
        if again:
            advance(turn)


def _spoken(turn: Turn, step: Step, want: Want, spoken: str) -> None:
    if want.kind is Kind.STATE:
        finish(turn, step, spoken)
        return
    if want.kind is Kind.FASTENERS:
        turn.record(ev.FastenersRenewed(step=step.id, fasteners=want.about))
    elif spoken == NEW_SEAL:
        turn.record(ev.SealRenewed(seal=want.about))
    elif spoken in (SEAL_GOOD, SEAL_BAD):
        turn.record(ev.SealJudged(seal=want.about, good=spoken == SEAL_GOOD))
    go_on(turn, step)


def go_on(turn: Turn, step: Step) -> None:
    """Say what the step wants next, or finish it."""
    want = first_want(turn.state, step)
    if want.kind is Kind.DONE:
        finish(turn, step)
    else:
        turn.say(sentence(want.prompt))


def count(turn: Turn, said: int | None) -> None:
    """The mechanic counted one."""
    step = turn.state.step
    if step is None or step.count is None or first_want(turn.state, step).kind is not Kind.COUNT:
        turn.refuse("count", "nothing is being counted")
        return
    shut = refusal(turn.state, step, turn.wall)
    if shut:
        refuse_shut(turn, "count", shut)
        return
    number = turn.state.counted + 1
    if said != number:
        turn.refuse("count", f"{turn.state.counted or 'none'} counted so far, {number} is next")
        return
    turn.record(ev.Counted(step=step.id, number=number))
    if number < step.count:
        turn.say(f"{number}.")
    else:
        go_on(turn, step)


def finish(turn: Turn, step: Step, spoken: str | None = None) -> None:
    """The step is done: start what it starts, note it, and go on."""
    facts = start_waits(turn, step)
    if step.proves:
        reading = turn.state.reading
        by = f"{reading.value:.12g} {reading.unit}" if spoken is None and reading else spoken or ""
        turn.record(ev.EnergyProved(energy=step.proves, by=by))
    turn.record(ev.StepDone(step=step.id, state=spoken))
    advance(turn, " ".join([f"Step {turn.state.procedure.number(step.id)} done.", *facts]))


def go_back(turn: Turn) -> None:
    """Look at the step before the one shown; the work stays where it is."""
    procedure = turn.state.procedure
    shown = turn.state.shown_step
    position = procedure.number(shown.id) - 1 if shown else len(procedure.steps)
    before = [s for s in procedure.steps[:position] if s.id in turn.state.settled]
    if not before:
        turn.refuse("go back", "there is no earlier step")
        return
    step = before[-1]
    turn.record(ev.LookedBack(step=step.id))
    read_again = [s for s in step_sayings(turn.state, step) if s.text.startswith("Step") or s.safety]
    how = turn.state.settled[step.id].how
    for saying in read_again:
        turn.say(saying.text, saying.priority, saying.tone, saying.safety)
    turn.say(f"That step is {how}. Say carry on to return, or undo to do it again.")


def carry_on_from_look(turn: Turn) -> None:
    """Return from "go back" to the step being worked on."""
    turn.record(ev.LookEnded())
    if turn.state.step:
        read(turn, turn.state.step)
    else:
        advance(turn)


def undo(turn: Turn) -> None:
    """Take back the last reading, seal, stage, new fasteners, count, or step with all that it closed.

    After "go back" it is the step looked at that is taken back.
    """
    step = turn.state.step
    looked_at = turn.state.looking_at
    if looked_at:
        turn.record(ev.LookEnded())
    elif step and _undo_within(turn, step):
        turn.say(sentence(first_want(turn.state, step).prompt))
        return
    last = looked_at or next(
        filter(None, (_taken_back(turn.state, s) for s in reversed(tuple(turn.state.settled)))), None
    )
    if last is None:
        turn.refuse("undo", "nothing has been done yet")
        return
    redo(turn, last)
    turn.say(f"Step {turn.state.procedure.number(last)} is to be done again.")
    advance(turn)


def _undo_within(turn: Turn, step: Step) -> bool:
    """Take back the last thing given to the step being worked on, if there is one."""
    state = turn.state
    mended = [seal for seal in state.mended_seals if seal in step.renews]
    if state.reading:
        turn.record(ev.ReadingDropped(step=step.id))
        turn.say("Reading taken back.")
    elif mended:
        turn.record(ev.SealTakenBack(seal=mended[-1]))
        turn.say(sentence(f"{the(state.procedure.seals[mended[-1]].name)} taken back"))
    elif state.stage:
        turn.record(ev.StageTakenBack(step=step.id, stage=state.stage))
        turn.say("Stage taken back.")
    elif state.new_fasteners:
        turn.record(ev.FastenersTakenBack(step=step.id, fasteners=state.new_fasteners[-1]))
        turn.say(sentence(f"{new_words(state.new_fasteners[-1])} taken back"))
    elif state.counted:
        turn.record(ev.CountTakenBack(step=step.id, number=state.counted))
        turn.say("One count taken back.")
    else:
        return False
    return True


def _taken_back(state: State, step_id: str) -> str | None:
    """The step, unless it was settled only because another one was not wanted."""
    step = state.procedure.step(step_id)
    decider = state.settled.get(step.only_if) if step.only_if else None
    declined_with_another = decider is not None and decider.how is not How.DONE
    return None if declined_with_another else step_id
