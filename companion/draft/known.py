"""What the language of procedures knows of an energy source."""

from companion.procedure.checks.isolation import NEEDS_WAIT
from companion.procedure.holds.circuits import PRESSURES


def lingers(kind: str) -> bool:
    """Does it stay after the switch, so that the maker's wait is needed?"""
    return kind in {str(source) for source in NEEDS_WAIT}


def presses(kind: str) -> bool:
    """Does it stand in a circuit?"""
    return kind in {str(source) for source in PRESSURES}
