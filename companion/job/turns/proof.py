"""Asking again for the proof that a source is dead, after anything that could have re-energised it.

A proof is lost by a hold, a stop, an undone restoration, an absence of a minute or more, a new run of the
machine, or two silent hours. A restart within a minute is taken for a hiccup of the program. A failed proof
runs the maker's wait again.
"""

from collections.abc import Callable
from datetime import timedelta

from companion.job.facts import events as ev
from companion.job.facts.energy import EnergyState, licence_reminder
from companion.job.facts.said.log_map import about
from companion.job.facts.said.questions import Proof
from companion.job.facts.sayings import Tone
from companion.job.rules.gates import isolation_waiting
from companion.job.rules.wants import measure_prompt, proof_measure, proof_words
from companion.job.turns.step_waits import start_isolation_wait
from companion.job.turns.turn import Turn
from companion.job.words.sentences import sentence
from companion.procedure.energy_words import energy_words
from companion.procedure.units import short

SILENCE = timedelta(hours=2)
"""After hearing nothing for so long, the work counts as interrupted. Chosen here, no source."""


def lose_proofs(turn: Turn, because: str) -> None:
    """Every source proved dead must be proved again: someone may have re-energised it.

    Where only a spoken state proves it, the maker's wait runs again first.
    """
    for energy, where in list(turn.state.energy.items()):
        if where is EnergyState.PROVED_DEAD:
            if proof_measure(turn.state.procedure, energy) is None:
                start_isolation_wait(turn, energy)
            turn.record(ev.ProofLost(energy=energy, because=because))


def lose_proofs_by_silence(turn: Turn) -> str | None:
    """Lose the proofs when nothing was heard for long. Returns what to say of it, or None."""
    state = turn.state
    if state.sign_of_life is None or state.held or state.closed:
        return None
    silent = turn.now.mono - state.sign_of_life.mono
    if silent < SILENCE or EnergyState.PROVED_DEAD not in state.energy.values():
        return None
    because = f"nothing was heard for {short(silent)}"
    lose_proofs(turn, because)
    return sentence(because)


def ask_proof(turn: Turn, lead: str = "") -> None:
    """Ask for the first proof that is missing."""
    id_ = turn.state.to_prove[0]
    energy = turn.state.procedure.energy[id_]
    licence = licence_reminder(energy)
    if licence:
        turn.say(licence, safety=True)
    measure = proof_measure(turn.state.procedure, id_)
    how = measure_prompt(measure) if measure else f'say "{proof_words(turn.state.procedure, id_)}"'
    if lead:
        turn.say(lead)
    text = f"Before going on, prove again that {energy_words(energy).proved}. {sentence(how)}"
    proof = Proof(id_)
    turn.record(ev.Asked(question=proof.name, about=about(proof), text=text))
    turn.say(text, tone=Tone.URGENT, safety=True)


def proof_waits(turn: Turn, energy: str) -> bool:
    """Refuse a proof while the wait before it runs, and ask for it again."""
    shut = next(isolation_waiting(turn.state, energy, turn.wall), None)
    if shut:
        turn.refuse("proof", shut.reason)
        ask_proof(turn)
    return shut is not None


def prove_again(turn: Turn, energy: str, by: str, go_on: Callable[[Turn, str], None]) -> None:
    """A lost proof is given again, once its wait is over; go on when none is missing."""
    if proof_waits(turn, energy):
        return
    turn.record(ev.EnergyProved(energy=energy, by=by))
    lead = sentence(energy_words(turn.state.procedure.energy[energy]).proved)
    if turn.state.to_prove:
        ask_proof(turn, lead)
    else:
        go_on(turn, lead)
