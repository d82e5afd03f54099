"""Asking again for the proof that a source is dead, after anything that could have re-energised it."""

from companion.job import events as ev
from companion.job.energy import EnergyState
from companion.job.expected import proof_words
from companion.job.reading_out import sentence
from companion.job.sayings import Tone
from companion.job.state import Question
from companion.job.turn import Turn
from companion.job.wanting import measure_prompt


def lose_proofs(turn: Turn, because: str) -> None:
    """Every source proved dead must be proved again: someone may have re-energised it."""
    for energy, where in list(turn.state.energy.items()):
        if where is EnergyState.PROVED_DEAD:
            turn.record(ev.ProofLost(energy=energy, because=because))


def ask_proof(turn: Turn, lead: str = "") -> None:
    """Ask for the first proof that is missing."""
    id_ = turn.state.to_prove[0]
    energy = turn.state.procedure.energy[id_]
    how = measure_prompt(energy.prove) if energy.prove else f'say "{proof_words(turn.state, id_)}"'
    text = sentence(f"{lead} Before going on, prove {energy.name} dead again: {how}".strip())
    turn.record(ev.Asked(question=Question.PROOF, about={"energy": id_}, text=text))
    turn.say(text, tone=Tone.URGENT, safety=True)
