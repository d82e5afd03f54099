"""What is not known of a procedure yet: questions in plain words, and what each is about."""

from enum import StrEnum

from companion.procedure.vocabulary.part import Part, Text


class Asked(StrEnum):
    """What a question is about that is not answered yet."""

    TORQUE = "torque"
    """How tight the fasteners of the step are. Asked on the bench it is read back and logged."""
    AMOUNT = "amount"
    """How much of a fluid goes in. Likewise."""
    SEAL = "seal"
    """Whether there is a seal, and whether it is renewed."""
    COUNT = "count"
    """How many fasteners there are."""
    SIZE = "size"
    """Which tool fits them."""
    WAIT = "wait"
    """How long energy lingers."""
    PROOF = "proof"
    """What shows that energy is gone."""
    ENERGY = "energy"
    """How energy is made safe."""
    OTHER = "other"
    """Anything else."""


class Review(Part):
    """Something not known yet, as a question in plain words. `companion draft --answer` answers it."""

    ask: Text
    """The question. It is asked on the bench for as long as it is here."""
    about: Asked
    """What it is about."""
    dangerous: bool = False
    """Could a wrong guess hurt someone? Then no job is begun before it is answered."""
