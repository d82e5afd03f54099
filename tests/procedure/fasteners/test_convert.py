"""Torques in other units, against the published factors."""

import pytest

from companion.procedure.fasteners.convert import newton_metres, pound_feet


@pytest.mark.parametrize(
    ("text", "factor"),
    [
        ("1 lbf·ft", 1.3558179483314004),  # NIST SP 811
        ("1 ft-lb", 1.3558179483314004),
        ("1 lbf·in", 0.1129848290276167),  # NIST SP 811: 1.129 848 E-01, here a twelfth of the above
        ("1 kgf·m", 9.80665),  # NIST SP 811
        ("1 kgf·cm", 0.0980665),
        ("1 ozf·in", 0.007061552),  # NIST SP 811: 7.061 552 E-03
        ("1 N cm", 0.01),
        ("1 kN·m", 1000),
    ],
)
def test_a_torque_in_another_unit(text: str, factor: float) -> None:
    assert newton_metres(text) == pytest.approx(factor, rel=1e-6)


@pytest.mark.parametrize(
    "text", ["25 N·m", "25", "lbf·ft", "1e9 lbf·ft", "25 furlongs", "9" * 5000 + " lbf·ft"]
)
def test_what_is_no_torque_in_another_unit(text: str) -> None:
    assert newton_metres(text) is None


def test_there_and_back() -> None:
    assert pound_feet(newton_metres("18 lbf·ft") or 0) == pytest.approx(18)
