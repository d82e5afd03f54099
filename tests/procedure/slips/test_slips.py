"""A sample of the slips of `tests/benchmarks/check.py`: each kind is noticed, dangerous ones as errors."""

import pytest

from tests.procedure.slips.every import all_kinds, copies, found_in
from tests.procedure.slips.kinds import Kind

KINDS = all_kinds()


def test_there_are_enough_kinds_and_half_of_them_were_held_out() -> None:
    assert len(KINDS) >= 120
    assert len({kind.name for kind in KINDS}) == len(KINDS)
    assert 0.45 < sum(kind.held for kind in KINDS) / len(KINDS) < 0.55


@pytest.mark.parametrize("kind", [kind for kind in KINDS if not kind.held], ids=lambda kind: kind.name)
def test_a_slip_is_noticed(kind: Kind) -> None:
    """The first copy that the kind makes."""
    _, _, copy = next(copies(kind))
    found = found_in(copy)
    assert found
    assert not kind.hurts or any(fault.rule.severity == "error" for fault in found), [
        f.message for f in found
    ]
