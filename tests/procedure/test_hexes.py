"""Hexagons and the torques that threads bear, against published figures."""

import pytest

from companion.procedure.checks.fasteners import BEARS_AT_MOST, TIGHT_AT_LEAST
from companion.procedure.hexes import KNOWN_HEX, HexSource, hex_for, nominal_diameter


@pytest.mark.parametrize(("thread", "size"), [("M6", 10), ("M8", 13), ("M10", 16), ("M12", 18), ("M14", 21)])
def test_current_across_flats(thread: str, size: float) -> None:
    # ISO 272 / ISO 4014; figures from memory.
    assert (hex_for(thread)[0].millimetres, hex_for(thread)[0].source) == (size, HexSource.ISO)


@pytest.mark.parametrize(("thread", "size"), [("M10", 17), ("M12", 19), ("M14", 22), ("M7", 11)])
def test_older_across_flats(thread: str, size: float) -> None:
    # DIN 931 / DIN 933, older; figures from memory.
    assert size in [one.millimetres for one in hex_for(thread) if one.source is HexSource.DIN]


@pytest.mark.parametrize("size", [10, 11, 13, 16, 19])
def test_heads_common_on_an_engine_are_known(size: float) -> None:
    assert size in KNOWN_HEX  # common practice, no source


def test_a_fine_thread_carries_the_hexagon_of_its_diameter() -> None:
    assert nominal_diameter("M12x1.5") == 12.0
    assert hex_for("M12x1.5") == hex_for("M12")
    assert hex_for("M33") == ()


VDI_2230_GREATEST = {5: 9.5, 6: 16.5, 8: 40.1, 10: 79.2, 12: 136.7, 14: 218.4}
VDI_2230_LEAST = {5: 5.8, 6: 10.1, 8: 24.6, 10: 48.5, 12: 83.6, 14: 133.6}


def test_torque_limits_are_those_of_vdi_2230() -> None:
    # Computed by the VDI 2230 method: 10.9 at friction 0.14, 8.8 at friction 0.12, coarse thread, in N·m.
    assert BEARS_AT_MOST == VDI_2230_GREATEST
    assert TIGHT_AT_LEAST == VDI_2230_LEAST


PITCH = {5: 0.8, 6: 1.0, 8: 1.25, 10: 1.5, 12: 1.75, 14: 2.0}


@pytest.mark.parametrize("diameter", [5, 6, 8, 10, 12, 14])
def test_torque_limits_agree_with_the_method_worked_out_here(diameter: int) -> None:
    # VDI 2230: utilisation 0.9, underhead diameter from the head of ISO 4014 and a clearance hole.
    flats = {5: 8, 6: 10, 8: 13, 10: 16, 12: 18, 14: 21}[diameter]
    hole = {5: 5.5, 6: 6.6, 8: 9.0, 10: 11.0, 12: 13.5, 14: 15.5}[diameter]
    for proof, friction, stated in ((940, 0.14, BEARS_AT_MOST), (640, 0.12, TIGHT_AT_LEAST)):
        worked = _vdi_torque(diameter, PITCH[diameter], (flats + hole) / 2, proof, friction)
        assert stated[diameter] == pytest.approx(worked, rel=0.05)


def _vdi_torque(d: float, p: float, bearing: float, proof: float, friction: float) -> float:
    """N·m; formula as in VDI 2230 with d2 = d - 0.6495 p and d3 = d - 1.2269 p."""
    pi = 3.141592653589793
    flank, root = d - 0.6495 * p, d - 1.2269 * p
    mean = (flank + root) / 2
    twist = 1.5 * flank / mean * (p / (pi * flank) + 1.155 * friction)
    force = 0.9 * proof * pi / 4 * mean**2 / (1 + 3 * twist**2) ** 0.5
    return force * (0.16 * p + 0.58 * flank * friction + bearing * friction / 2) / 1000
