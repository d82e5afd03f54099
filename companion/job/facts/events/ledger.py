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


class FastenersRenewed(Event):
    """It was said that new fasteners go in where the old ones must not: of one name, in the current step."""

    event: Literal["fasteners_renewed"] = "fasteners_renewed"
    step: str
    fasteners: str
    """Their name in the procedure."""


class FastenersTakenBack(Event):
    """That the fasteners are new ones was taken back."""

    event: Literal["fasteners_taken_back"] = "fasteners_taken_back"
    step: str
    fasteners: str
    """Their name in the procedure."""


class ItemLeftOut(Event):
    """Something that was opened is left out for good: it was asked back, confirmed, and a reason given."""

    event: Literal["item_left_out"] = "item_left_out"
    item: str
    """The item, by its id. The seals of its joint go with it."""
    reason: str
    """In the mechanic's words."""
    by: str = ""
    """The mechanic."""


class LeftOutTakenBack(Event):
    """An item that was left out is to be put back after all."""

    event: Literal["left_out_taken_back"] = "left_out_taken_back"
    item: str
    """The item, by its id."""


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


class ProofFailed(Event):
    """A reading that should have proved a source dead shows that it is live."""

    event: Literal["proof_failed"] = "proof_failed"
    energy: str
    value: float
    """What was measured."""
    unit: str
    """Of the value."""


LedgerEvent = (
    SealJudged
    | SealRenewed
    | SealTakenBack
    | FastenersRenewed
    | FastenersTakenBack
    | ItemLeftOut
    | LeftOutTakenBack
    | ProofLost
    | EnergyProved
    | ProofFailed
)
