"""What the language of procedures knows of an energy source."""

from companion.procedure.vocabulary.energies import EnergySource


def known(kind: str) -> bool:
    """Does the language have it?"""
    return kind in EnergySource.known


def lingers(kind: str) -> bool:
    """Does it stay after the switch, so that the maker's wait is needed?"""
    return bool(EnergySource.known[kind].lingers)


def presses(kind: str) -> bool:
    """Does it stand in a circuit?"""
    return bool(EnergySource.known[kind].presses)
