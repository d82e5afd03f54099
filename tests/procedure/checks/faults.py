"""What the tests of checks share: the faults of a procedure that was spoilt in one way."""

from collections.abc import Callable

from companion.procedure.model import Procedure

FaultsOf = Callable[..., list[str]]
Read = Callable[[str], Procedure]
PROVE = "    prove: {what: voltage, unit: V, at_most: 0.5}\n"
COVER_BOLTS = "      - {what: cover bolts, thread: M8, hex: 13, count: 6, torque: 22 N·m}"


def among(faults: list[str], words: str) -> None:
    """One fault says so; others follow from the same slip."""
    assert len([fault for fault in faults if words in fault]) == 1, faults


def only(faults: list[str], words: str) -> None:
    """There is one fault, and it says so."""
    assert len(faults) == 1, faults
    assert words in faults[0]
