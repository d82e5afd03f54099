"""From step to step: begin, done, skip, go back, undo."""

from datetime import timedelta

from companion.job import events as ev
from companion.job.closing import all_settled
from companion.job.gates import (
    Refusal,
    Shut,
    cure_id,
    finishing_refusal,
    isolation_wait_id,
    refusal,
    skin_id,
    step_wait_id,
)
from companion.job.proof import ask_proof
from companion.job.reading_out import sentence, step_sayings
from companion.job.sayings import Priority
from companion.job.starting import settle, start_step_wait, start_waits
from companion.job.state import How, Question, State
from companion.job.turn import Turn
from companion.job.waiting import announce_due
from companion.job.wanting import NEW_SEAL, SEAL_BAD, SEAL_GOOD, Kind, Want, wanting
from companion.job.work import work_digest
from companion.procedure.model import Step

SKIN_OVER_LEAD = timedelta(minutes=3)
"""How long before a product skins over the warning comes (at most half of the open time)."""


def advance(turn: Turn, lead: str = "") -> None:
    """Go to the next step that may be worked on, or say why there is none."""
    announce_due(turn, boundary=True)
    if turn.state.to_prove:
        ask_proof(turn, lead)
        return
    _decline_dependents(turn)
    step, shut = choose(turn.state, turn)
    if step:
        _offer(turn, step, lead)
    elif shut is None:
        reopened = all_settled(turn, lead)
        if reopened:
            redo(turn, reopened)
            advance(turn)
    elif shut.gate is Shut.PART_MISSING:
        ask_for_part(turn, shut, lead)
    elif shut.gate is Shut.SKIN_OVER:
        turn.say(sentence(f"{lead} {shut.reason}".strip()), Priority.URGENT, safety=True)
        redo(turn, shut.about)
        advance(turn)
    else:
        turn.say(sentence(f"{lead} Nothing else can be done yet: {shut.reason}".strip()))


def choose(state: State, turn: Turn) -> tuple[Step | None, Refusal | None]:
    """The first unsettled step with every gate open; else the first shut gate other than order."""
    first_shut = None
    for step in state.procedure.steps:
        if step.id in state.settled:
            continue
        shut = refusal(state, step, turn.wall)
        if shut is None:
            return step, None
        if first_shut is None and shut.gate is not Shut.ORDER:
            first_shut = shut
    return None, first_shut


def _decline_dependents(turn: Turn) -> None:
    """Steps that hang on an optional step that was not wanted are not needed."""
    for step in turn.state.procedure.steps:
        if step.only_if and step.id not in turn.state.settled:
            decider = turn.state.settled.get(step.only_if)
            if decider and decider.how is not How.DONE:
                turn.record(ev.StepNotNeeded(step=step.id))


def _offer(turn: Turn, step: Step, lead: str) -> None:
    if step.optional and step.id not in turn.state.wanted:
        turn.ask(Question.STEP_WANTED, f"{lead} {step.optional} Yes or no?".strip(), step=step.id)
    else:
        begin(turn, step, lead)


def begin(turn: Turn, step: Step, lead: str = "") -> None:
    """Make the step the current one and read it out."""
    turn.record(
        ev.StepBegun(
            step=step.id, act=step.act, book_s=step.book.total_seconds(), work=work_digest(step)
        )
    )  # fmt: skip
    start_step_wait(turn, step)
    read(turn, step, lead)


def read(turn: Turn, step: Step, lead: str = "") -> None:
    """Read a step out."""
    for saying in step_sayings(turn.state, step, lead):
        turn.say(saying.text, saying.priority, saying.tone, saying.safety)


def _number(turn: Turn, step: Step) -> int:
    return turn.state.procedure.number(step.id)


def ask_for_part(turn: Turn, shut: Refusal, lead: str = "") -> None:
    """A missing part is asked about before the joint is opened."""
    name = turn.state.procedure.parts[shut.about].name
    turn.ask(
        Question.PART_ON_BENCH,
        f"{lead} Is the new {name} on the bench now? Yes or no?".strip(),
        part=shut.about,
    )


def move_on(turn: Turn, spoken: str | None = None) -> None:
    """ "Done", or a spoken state: one thing the step wanted is given; it ends when it wants no more."""
    step = turn.state.step
    if step is None:
        advance(turn)
        return
    shut = refusal(turn.state, step, turn.wall) or finishing_refusal(turn.state, step, turn.wall)
    if shut:
        turn.refuse("done", shut.reason)
        return
    want = wanting(turn.state, step)
    if spoken is not None and spoken in want.states:
        _spoken(turn, step, want, spoken)
    elif spoken is not None:
        turn.refuse("state", f"this step wants something else: {want.prompt}")
    elif want.kind is Kind.STAGE:
        turn.record(ev.StageDone(step=step.id, stage=turn.state.stage + 1))
        go_on(turn, step)
    elif want.kind is Kind.DONE:
        finish(turn, step)
    else:
        turn.refuse("done", want.prompt)


def _spoken(turn: Turn, step: Step, want: Want, spoken: str) -> None:
    if want.kind is Kind.STATE:
        finish(turn, step, spoken)
        return
    if spoken == NEW_SEAL:
        turn.record(ev.SealRenewed(seal=want.about))
    elif spoken in (SEAL_GOOD, SEAL_BAD):
        turn.record(ev.SealJudged(seal=want.about, good=spoken == SEAL_GOOD))
    go_on(turn, step)


def go_on(turn: Turn, step: Step) -> None:
    """Say what the step wants next, or finish it."""
    want = wanting(turn.state, step)
    if want.kind is Kind.DONE:
        finish(turn, step)
    else:
        turn.say(sentence(want.prompt))


def count(turn: Turn, number: int) -> None:
    """The mechanic counted one."""
    step = turn.state.step
    if step is None or step.count is None or wanting(turn.state, step).kind is not Kind.COUNT:
        turn.refuse("count", "nothing is being counted")
        return
    shut = refusal(turn.state, step, turn.wall)
    if shut:
        turn.refuse("count", shut.reason)
        return
    expected = turn.state.counted + 1
    if number != expected:
        turn.refuse("count", f"{turn.state.counted} counted so far, {expected} is next")
        return
    turn.record(ev.Counted(step=step.id, number=number))
    if number < step.count:
        turn.say(f"{number}.")
    else:
        go_on(turn, step)


def finish(turn: Turn, step: Step, spoken: str | None = None) -> None:
    """The step is done: note it, start what it starts, and go on."""
    turn.record(ev.StepDone(step=step.id, state=spoken))
    if step.proves:
        by = f"{turn.state.reading}" if spoken is None else spoken
        turn.record(ev.EnergyProved(energy=step.proves, by=by))
    facts = [f"Step {_number(turn, step)} done.", *start_waits(turn, step)]
    advance(turn, " ".join(facts))


def skip(turn: Turn, reason: str) -> None:
    """Leave the step out, for a spoken reason. What it would have closed stays open."""
    step = turn.state.step
    if step is None:
        turn.refuse("skip", "there is no step to skip")
        return
    turn.record(ev.StepSkipped(step=step.id, reason=reason))
    advance(turn, f"Step {_number(turn, step)} skipped: {reason}.")


def may_skip(state: State, step: Step) -> str | None:
    """Why a step may not be skipped at all; None when it may."""
    procedure = state.procedure
    if step.isolates and any(step.isolates in s.needs_isolated for s in procedure.steps):
        return f"later work needs {procedure.energy[step.isolates].name} isolated"
    if step.proves:
        return f"{procedure.energy[step.proves].name} must be proved dead"
    if step.wait is not None:
        return "the wait cannot be skipped"
    return None


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
    turn.record(ev.LookedBack(step=None))
    if turn.state.step:
        read(turn, turn.state.step)
    else:
        advance(turn)


def undo(turn: Turn) -> None:
    """Take back the last stage, count, reading or step; what it closed is open again."""
    state = turn.state
    step = state.step
    if step and state.reading:
        turn.record(ev.ReadingDropped(step=step.id))
        turn.say("Reading taken back.")
    elif step and state.stage:
        turn.record(ev.StageDone(step=step.id, stage=state.stage - 1))
        turn.say("Stage taken back.")
    elif step and state.counted:
        turn.record(ev.Counted(step=step.id, number=state.counted - 1))
        turn.say(f"Back to {state.counted - 1}.")
    else:
        last = [s for s in state.settled.values() if s.how is not How.NOT_NEEDED]
        if not last:
            turn.refuse("undo", "nothing has been done yet")
            return
        redo(turn, last[-1].step)
        turn.say(f"Step {state.procedure.number(last[-1].step)} is not done any more.")
        advance(turn)
        return
    if turn.state.step:
        turn.say(sentence(wanting(turn.state, turn.state.step).prompt))


def redo(turn: Turn, step_id: str) -> None:
    """Mark a settled step as to be done again; the waits it started no longer count."""
    step = turn.state.procedure.step(step_id)
    turn.record(ev.StepUndone(step=step_id))
    started = [cure_id(step_id), skin_id(step_id), f"{skin_id(step_id)}:warning", step_wait_id(step_id)]
    if step.isolates:
        started.append(isolation_wait_id(step.isolates))
    for id_ in started:
        settle(turn, id_, "overtaken")
    for dependent in turn.state.procedure.steps:
        if dependent.only_if == step_id and dependent.id in turn.state.settled:
            turn.record(ev.StepUndone(step=dependent.id))
