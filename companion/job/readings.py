"""Measured values: always read back, and only a confirmed one counts."""

from companion.job import events as ev
from companion.job.gates import isolation_wait_id, refusal
from companion.job.moving import advance, go_on, read
from companion.job.proof import ask_proof
from companion.job.reading_out import sentence
from companion.job.sayings import Priority, Tone
from companion.job.starting import start_isolation_wait
from companion.job.state import Question
from companion.job.turn import Turn
from companion.job.wanting import Kind, limits, wanting, within
from companion.procedure.model import Energy, Measure, Step
from companion.procedure.units import short


def hear_reading(turn: Turn, value: str, unit: str) -> None:
    """A value was said: read it back and ask."""
    measure = _wanted(turn)
    if measure is None:
        turn.refuse("reading", "no reading is wanted now")
        return
    if unit and unit != measure.unit:
        turn.refuse("reading", f"the reading must be in {measure.unit}, not {unit}")
        return
    try:
        number = float(value)
    except ValueError:
        turn.refuse("reading", f"{value!r} is not a number")
        return
    about = {"value": f"{number:g}", "unit": measure.unit}
    if turn.state.question is Question.PROOF:
        about["energy"] = turn.state.about["energy"]
    turn.ask(Question.READING_RIGHT, f"{number:g} {measure.unit}. Right? Yes or no?", **about)


def _wanted(turn: Turn) -> Measure | None:
    """The measure that a reading would answer now."""
    if turn.state.question is Question.PROOF:
        return turn.state.procedure.energy[turn.state.about["energy"]].prove
    step = turn.state.step
    if step and wanting(turn.state, step).kind is Kind.READING:
        return step.measure
    return None


def confirm_reading(turn: Turn, right: bool) -> None:
    """The answer to the readback."""
    about = dict(turn.state.about)
    turn.answered("yes" if right else "no")
    again = about.get("energy")
    if not right:
        if again:
            ask_proof(turn)
        else:
            turn.say("Say the reading again.")
        return
    value = float(about["value"])
    if again:
        _prove_again(turn, again, value)
    elif turn.state.step and turn.state.step.measure:
        _take(turn, turn.state.step, turn.state.step.measure, value)


def _take(turn: Turn, step: Step, measure: Measure, value: float) -> None:
    shut = refusal(turn.state, step, turn.wall)
    if shut:
        turn.refuse("reading", shut.reason)
        return
    good = within(measure, value)
    turn.record(ev.ReadingTaken(step=step.id, value=value, unit=measure.unit, within=good))
    if good:
        go_on(turn, step)
        return
    too = "too high" if measure.at_most is not None and value > measure.at_most else "too low"
    if step.proves:
        _still_live(turn, step.proves, value, measure.unit)
    else:
        turn.say(
            f"{value:g} {measure.unit} is {too}: {limits(measure)}. Measure again, or say skip and why.",
            tone=Tone.ERROR,
            safety=True,
        )


def _still_live(turn: Turn, id_: str, value: float, unit: str) -> None:
    """The proof failed: treat the source as live, and run its wait again."""
    name = turn.state.procedure.energy[id_].name
    text = f"DANGER: {name} is not dead, {value:g} {unit}. Stop. Isolate it again."
    wait = start_isolation_wait(turn, id_)
    if wait:
        text += f" Then wait {short(wait)} and say the reading."
    turn.say(text, Priority.DANGER, Tone.DANGER, safety=True)


def _prove_again(turn: Turn, id_: str, value: float) -> None:
    energy: Energy = turn.state.procedure.energy[id_]
    assert energy.prove is not None, "readings are only wanted for sources with a measure"
    waiting = turn.state.deadlines.get(isolation_wait_id(id_))
    if waiting and turn.wall < waiting.due:
        turn.refuse(
            "reading", f"{energy.name}: {short(waiting.due - turn.wall)} to wait before proving it dead"
        )
        ask_proof(turn)
    elif within(energy.prove, value):
        prove_again(turn, id_, f"{value:g} {energy.prove.unit}")
    else:
        _still_live(turn, id_, value, energy.prove.unit)
        ask_proof(turn)


def prove_again(turn: Turn, id_: str, by: str) -> None:
    """A lost proof is given again; go on once none is missing."""
    turn.record(ev.EnergyProved(energy=id_, by=by))
    lead = f"{turn.state.procedure.energy[id_].name} proved dead."
    step = turn.state.step
    if turn.state.to_prove:
        ask_proof(turn, lead)
    elif step and refusal(turn.state, step, turn.wall) is None:
        turn.say(sentence(lead))
        read(turn, step)
    else:
        advance(turn, lead)
