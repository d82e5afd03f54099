"""What the ledger learns beyond the steps: seals and energy proved dead."""

from typing import Literal

from companion.job.facts.events.event import Event


class SealJudged(Event):
    """The verdict on a seal that may be used again."""

    event: Literal["seal_judged"] = "seal_judged"
    seal: str
    good: bool
    """It may be used again."""


class SealRenewed(Event):
    """A new seal was fitted."""

    event: Literal["seal_renewed"] = "seal_renewed"
    seal: str


class SealTakenBack(Event):
    """The last word on a seal, renewed or good, was taken back."""

    event: Literal["seal_taken_back"] = "seal_taken_back"
    seal: str


class ProofLost(Event):
    """An interruption could have re-energised this source: it must be proved dead again."""

    event: Literal["proof_lost"] = "proof_lost"
    energy: str
    because: str
    """What interrupted."""


class EnergyProved(Event):
    """Proved dead: by a reading, or by a spoken state."""

    event: Literal["energy_proved"] = "energy_proved"
    energy: str
    by: str
    """The reading or the words that proved it."""


LedgerEvent = SealJudged | SealRenewed | SealTakenBack | ProofLost | EnergyProved
