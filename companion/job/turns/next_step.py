"""Which step comes next: chosen, offered, begun and read out, or the reason why there is none.

When every step is settled and something is open, the companion goes back to the step that closes it, however
that was skipped: the job cannot be closed around it.
"""

from collections.abc import Sequence
from datetime import datetime

from companion.job.facts import events as ev
from companion.job.facts.energy import EnergyState
from companion.job.facts.said.questions import PartOnBench, StepWanted
from companion.job.facts.sayings import Priority
from companion.job.facts.state import How, State
from companion.job.facts.work_digest import work_digest
from companion.job.rules.choice import is_running, other_steps
from companion.job.rules.gates import Refusal, Shut, refusal
from companion.job.rules.ledger import Why, left_out, open_things
from companion.job.rules.may_be_left_out import left_by, why_not_ever
from companion.job.rules.wants import nothing_given
from companion.job.turns.end_of_job import all_settled
from companion.job.turns.proof import ask_proof
from companion.job.turns.reminders import announce_due
from companion.job.turns.step_waits import start_skin_over, start_step_wait
from companion.job.turns.turn import Turn
from companion.job.words.reading_out import in_short, step_sayings
from companion.job.words.sentences import sentence
from companion.procedure.model import Step
from companion.procedure.nouns import as_many, bare, the, verb

GOES_BACK = (Shut.STILL_OPEN, Shut.BURIED, Shut.PRESSED)
"""Gates that something left open keeps shut: the companion goes back to it by itself."""


def advance(turn: Turn, lead: str = "") -> None:
    """Go to the next step that may be worked on, or say why there is none."""
    announce_due(turn, boundary=True)
    if turn.state.to_prove:
        ask_proof(turn, lead)
        return
    _decline_dependents(turn)
    step, shut = choose(turn.state, turn.wall)
    if step:
        _offer(turn, step, lead)
    elif shut is None:
        reopened = all_settled(turn, lead)
        if reopened:
            turn.say(ways_out(turn.state, [reopened]), safety=True)
            redo(turn, reopened)
            advance(turn)
    elif shut.gate is Shut.PART_MISSING:
        ask_for_part(turn, shut, lead)
    else:
        _find_a_way(turn, shut, lead)


def _find_a_way(turn: Turn, shut: Refusal, lead: str) -> None:
    again = way_through(turn.state, shut)
    if not again:
        if lead:
            turn.say(lead)
        turn.say(sentence(f"nothing else can be done yet: {shut.reason}"))
        return
    urgent = Priority.URGENT if shut.gate is Shut.SKIN_OVER else Priority.ROUTINE
    if lead:
        turn.say(lead)
    turn.say(sentence(shut.reason), urgent, safety=True)
    if shut.gate in GOES_BACK:
        turn.say(ways_out(turn.state, again), safety=True)
    for step_id in again:
        redo(turn, step_id)
    advance(turn)


def ways_out(state: State, again: Sequence[str]) -> str:
    """What can be done about a step that was skipped and holds up the rest."""
    step = state.procedure.step(again[0])
    ways = ["do it now", "say waiting for a part"]
    if why_not_ever(state, step) is None:
        opened = [thing.id for thing in left_by(state, step.id) if thing.why is Why.OPENED]
        name = f"the {bare(state.procedure.items[opened[0]].name)}" if opened else "it"
        ways.append(f"say leave {name} out")
    return f"Back to step {state.procedure.number(step.id)}: {', '.join(ways[:-1])}, or {ways[-1]}."


def way_through(state: State, shut: Refusal) -> tuple[str, ...]:
    """Settled steps that must be done again before the gate can open. None, when it only takes time."""
    match shut.gate:
        case Shut.SKIN_OVER | Shut.CURE:
            again = [shut.about]
        case Shut.STILL_OPEN | Shut.SEAL | Shut.BURIED | Shut.PRESSED:
            things = [t for t in (*open_things(state), *left_out(state)) if t.why is not Why.NOT_RESTORED]
            again = [t.closed_by for t in things if t.id == shut.about and t.closed_by]
        case Shut.LIVE:
            again = _round_of(state, shut.about)
        case _:
            again = []
    return tuple(step for step in again if step in state.settled)


def _round_of(state: State, energy: str) -> list[str]:
    """The steps that isolate a source, the last one first. Only the proof, when nothing else is missing."""
    proving = [s.id for s in state.procedure.steps if s.proves == energy]
    if state.energy_state(energy) is EnergyState.ISOLATING:
        return proving
    restoring = [s.id for s in state.procedure.steps if s.restores == energy]
    isolating = [s.id for s in state.procedure.steps if s.isolates == energy]
    return [*restoring, *proving, *isolating]


def choose(state: State, now: datetime) -> tuple[Step | None, Refusal | None]:
    """The first unsettled step whose gates are all open; else the shut gate to tell of.

    A step that is a wait, and runs already, comes after all that can be done meanwhile. The gate to tell of
    is the first that something can be done about. That a step comes first is no news.
    """
    shuts: list[Refusal] = []
    running: Step | None = None
    for step in state.procedure.steps:
        if step.id in state.settled:
            continue
        shut = refusal(state, step, now)
        if shut is None and is_running(state, step, now):
            running = running or step
        elif shut is None:
            return step, None
        elif shut.gate is not Shut.ORDER:
            shuts.append(shut)
    if running:
        return running, None
    leading = (shut for shut in shuts if shut.gate not in GOES_BACK or way_through(state, shut))
    return None, next(leading, next(iter(shuts), None))


def _decline_dependents(turn: Turn) -> None:
    """Steps that depend on an optional step nobody wanted are not needed."""
    for step in turn.state.procedure.steps:
        if step.only_if and step.id not in turn.state.settled:
            decider = turn.state.settled.get(step.only_if)
            if decider and decider.how is not How.DONE:
                turn.record(ev.StepNotNeeded(step=step.id))


def _offer(turn: Turn, step: Step, lead: str) -> None:
    if step.optional and step.id not in turn.state.wanted:
        if lead:
            turn.say(lead)
        turn.ask(StepWanted(step.id), f"{step.optional} Yes or no?")
    else:
        begin(turn, step, lead)


def ask_for_part(turn: Turn, shut: Refusal, lead: str = "") -> None:
    """A missing part is asked about before the joint is opened."""
    if lead:
        turn.say(lead)
    part = turn.state.procedure.parts[shut.about]
    name = as_many(part.count, part.name)
    turn.ask(PartOnBench(shut.about), f"{verb(name)} the new {name} on the bench now? Yes or no?")


def begin(turn: Turn, step: Step, lead: str = "") -> None:
    """Make the step the current one and read it out."""
    turn.record(
        ev.StepBegun(
            step=step.id, act=step.act, book_s=step.book.total_seconds(), work=work_digest(step)
        )
    )  # fmt: skip
    start_step_wait(turn, step)
    read(turn, step, lead)
    offer_others(turn)


def offer_others(turn: Turn) -> None:
    """While something waits, what could be done in place of the step in hand."""
    for step in other_steps(turn.state, turn.wall):
        number = turn.state.procedure.number(step.id)
        turn.say(f"Or step {number}: {in_short(step)}. Say step {number}.")


def take_up(turn: Turn, number: int | None) -> None:
    """ "Step nine": go to that step, when its gates are open and the one in hand loses nothing by it."""
    state, procedure = turn.state, turn.state.procedure
    if number is None or not 1 <= number <= len(procedure.steps):
        turn.refuse("step", f"there is no such step, they go from 1 to {len(procedure.steps)}")
        return
    step = procedure.steps[number - 1]
    shut = refusal(state, step, turn.wall)
    if step.id == state.current:
        read(turn, step)
    elif step.id in state.settled:
        turn.refuse("step", f"step {number} is {state.settled[step.id].how}")
    elif state.step and not nothing_given(state, state.step):
        turn.refuse("step", f"step {procedure.number(state.step.id)} is begun, finish it first")
    elif shut:
        turn.refuse("step", shut.reason)
    else:
        _offer(turn, step, "")


def read(turn: Turn, step: Step, lead: str = "") -> None:
    """Read a step out."""
    for saying in step_sayings(turn.state, step, lead):
        turn.say(saying.text, saying.priority, saying.tone, saying.safety)


def redo(turn: Turn, step_id: str) -> None:
    """Mark a settled step as to be done again. A joint apart again gets what is left of its open time."""
    step = turn.state.procedure.step(step_id)
    was_assembled = turn.state.is_done(step_id) and step.assembles
    _undo(turn, step)
    if was_assembled and turn.state.is_done(was_assembled):
        applied = turn.state.settled[was_assembled]
        start_skin_over(turn, turn.state.procedure.step(was_assembled), turn.start - applied.at)
    for dependent in turn.state.procedure.steps:
        if dependent.only_if == step_id and dependent.id in turn.state.settled:
            _undo(turn, dependent)


def _undo(turn: Turn, step: Step) -> None:
    """What it would have put back is left out no longer. If the log ends right after that, it is open."""
    for item in step.closes:
        if item in turn.state.left_out:
            turn.record(ev.LeftOutTakenBack(item=item))
            name = the(turn.state.procedure.items[item].name)
            turn.say(sentence(f"{name} {verb(name)} not left out any more"), safety=True)
    turn.record(ev.StepUndone(step=step.id))
