"""What is said of an energy source, in the words of its kind: dead, cool, gone, at rest, firm."""

from companion.procedure.model import Energy
from companion.procedure.nouns import the, verb
from companion.procedure.vocabulary.energies import WORDS, EnergyWords, SpokenOf


def energy_words(energy: Energy) -> EnergyWords:
    """The words for this source, with its name in them."""
    it = _it(energy)
    words, names = WORDS[energy.source.words], {"it": it, "is": verb(it)}
    clauses = {field: getattr(words, field) for field in EnergyWords.model_fields}
    return EnergyWords(**{field: clause.format(**names) for field, clause in clauses.items()})


def _it(energy: Energy) -> str:
    """What the clauses speak of: the oil, not the hot oil; the vehicle, not the vehicle on its stands."""
    name = the(energy.name)
    match energy.source.spoken_of:
        case SpokenOf.HOT:
            return name.replace("the hot ", "the ", 1)
        case SpokenOf.SUPPORT:
            return name.split(" on ")[0] if " on " in name else "the vehicle"
        case SpokenOf.PRESSURE:
            return name if "pressure" in name.lower() else f"the pressure in {name}"
        case SpokenOf.NAME:
            return name
