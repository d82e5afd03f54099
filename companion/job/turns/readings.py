"""Measured values: always read back, and only a confirmed one counts."""

from companion.job.facts import events as ev
from companion.job.facts.said.given import Given, Measured, Unreadable
from companion.job.facts.said.questions import Proof, ReadingRight
from companion.job.facts.sayings import Priority, Tone
from companion.job.rules.gates import refusal
from companion.job.rules.wants import Kind, first_want, limits, measure_of, proof_measure, within
from companion.job.turns.next_step import advance, begin
from companion.job.turns.proof import ask_proof, proof_waits, prove_again
from companion.job.turns.step_in_hand import go_on, refuse_shut
from companion.job.turns.step_waits import start_isolation_wait
from companion.job.turns.turn import Turn
from companion.job.words.sentences import sentence
from companion.procedure.energy_words import energy_words
from companion.procedure.model import Measure, Step
from companion.procedure.unit_table import unit_name
from companion.procedure.units import short


def hear_reading(turn: Turn, given: Given | None) -> None:
    """A value was said: read it back and ask."""
    asked = _wanted(turn)
    if asked is None:
        turn.refuse("reading", "no reading is wanted now")
        return
    if _too_early(turn):
        return
    measure, energy = asked
    unit = given.unit if isinstance(given, Measured | Unreadable) else ""
    if unit and unit != measure.unit:
        turn.refuse("reading", f"the reading must be in {unit_name(measure.unit)}, not {unit_name(unit)}")
        return
    if not isinstance(given, Measured):
        heard = given.text if isinstance(given, Unreadable) else ""
        turn.refuse("reading", f"{heard!r} is not a number" if heard else "I heard no number")
        return
    said = plain(given.value)
    step = turn.state.current if energy is None else None
    right = ReadingRight(given.value, measure.unit, energy, step)
    turn.ask(right, f"{said} {measure.unit}. Right? Yes or no?")


def plain(number: float) -> str:
    """All digits of a reading, without the noise of binary fractions."""
    return f"{number:.12g}"


def _wanted(turn: Turn) -> tuple[Measure, str | None] | None:
    """The measure that a reading would answer now, and the source whose lost proof it would give, if any."""
    question = turn.state.question
    if isinstance(question, Proof):
        measure = proof_measure(turn.state.procedure, question.energy)
        return (measure, question.energy) if measure else None
    step = turn.state.step
    measure = measure_of(turn.state.procedure, step) if step else None
    if step and measure and first_want(turn.state, step).kind is Kind.READING:
        return measure, None
    return None


def _too_early(turn: Turn) -> bool:
    """Refuse a reading that may not be taken yet, before it is read back. Was it refused?"""
    if isinstance(turn.state.question, Proof):
        return proof_waits(turn, turn.state.question.energy)
    shut = refusal(turn.state, turn.state.step, turn.wall) if turn.state.step else None
    if shut:
        refuse_shut(turn, "reading", shut)
    return shut is not None


def confirm_reading(turn: Turn, question: ReadingRight, right: bool) -> None:
    """The answer to the readback."""
    turn.answered("yes" if right else "no")
    if not right and question.energy:
        ask_proof(turn)
    elif not right:
        turn.say("Say the reading again.")
    elif question.energy:
        _prove_again(turn, question.energy, question.value)
    else:
        _take(turn, question)


def _take(turn: Turn, question: ReadingRight) -> None:
    step = turn.state.step
    measure = measure_of(turn.state.procedure, step) if step else None
    if step is None or measure is None or step.id != question.step:
        turn.refuse("reading", "no reading is wanted now")
        return
    shut = refusal(turn.state, step, turn.wall)
    if shut:
        refuse_shut(turn, "reading", shut)
        return
    value = question.value
    good = within(measure, value)
    turn.record(ev.ReadingTaken(step=step.id, value=value, unit=measure.unit, within=good))
    if good:
        go_on(turn, step)
    elif step.proves:
        _still_live(turn, step.proves, value, measure.unit)
    else:
        _out_of_limits(turn, step, measure, value)


def _out_of_limits(turn: Turn, step: Step, measure: Measure, value: float) -> None:
    too = "too high" if measure.at_most is not None and value > measure.at_most else "too low"
    turn.say(
        f"{plain(value)} {measure.unit} is {too}: {limits(measure)}. Measure again, or say skip and why.",
        tone=Tone.ERROR,
        safety=True,
    )


def _still_live(turn: Turn, id_: str, value: float, unit: str) -> None:
    """The proof failed: treat the source as live, and run its wait again."""
    turn.record(ev.ProofFailed(energy=id_, value=value, unit=unit))
    words = energy_words(turn.state.procedure.energy[id_])
    wait = start_isolation_wait(turn, id_)
    then = f", then wait {short(wait)} and say the reading" if wait else ""
    text = f"DANGER: {words.still}, {plain(value)} {unit}. Stop. {sentence(words.isolate_again + then)}"
    turn.say(text, Priority.DANGER, Tone.DANGER, safety=True)


def _prove_again(turn: Turn, id_: str, value: float) -> None:
    measure = proof_measure(turn.state.procedure, id_)
    assert measure is not None, "readings are only wanted for sources with a measure"
    if within(measure, value):
        prove_again(turn, id_, f"{plain(value)} {measure.unit}", back_to_work)
    else:
        _still_live(turn, id_, value, measure.unit)
        ask_proof(turn)


def back_to_work(turn: Turn, lead: str) -> None:
    """After a lost proof was given: the step being worked on, or the next one."""
    step = turn.state.step
    if step and refusal(turn.state, step, turn.wall) is None:
        begin(turn, step, lead)
    else:
        advance(turn, lead)
