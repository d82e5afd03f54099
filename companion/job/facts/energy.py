"""Where each energy source stands, after the lock-out order of OSHA 29 CFR 1910.147(d).

Prepare, shut down, isolate, secure, relieve stored energy, verify: a source passes
live -> isolating -> proved dead -> restored, and dependent work is gated on "proved dead".
"""

from enum import StrEnum

from companion.procedure.model import Energy


class EnergyState(StrEnum):
    """The named states of a source."""

    LIVE = "live"
    ISOLATING = "isolating"
    """Isolated, but not proved: treated as live."""
    PROVED_DEAD = "proved dead"
    RESTORED = "restored"


OPEN = (EnergyState.ISOLATING, EnergyState.PROVED_DEAD)
"""The states in which the ledger holds the source as not restored."""


def licence_reminder(energy: Energy) -> str | None:
    """What is always said before work on high voltage or airbags."""
    if energy.source.licensed:
        return f"{energy.name}: trained and licensed people only. The vehicle maker's data rules."
    return None
