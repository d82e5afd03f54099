"""Stress areas, proof loads, preloads and torques, against published figures."""

import pytest

from companion.procedure.fasteners.strength import (
    edition_of,
    force_at,
    nut_factor,
    preload,
    proof_load,
    strength_of,
    stress_area,
    torque,
)
from companion.procedure.fasteners.threads import parse_thread
from companion.procedure.units import Torque

ISO_898_1 = {
    # Stress area in mm², proof load in N of 8.8 and 10.9, as ISO 898-1 has them.
    "M5": (14.2, 8230, 11800),
    "M6": (20.1, 11600, 16700),
    "M8": (36.6, 21200, 30400),
    "M10": (58.0, 33700, 48100),
    "M12": (84.3, 48900, 70000),
    "M14": (115, 66700, 95500),
}


@pytest.mark.parametrize(("size", "published"), ISO_898_1.items())
def test_stress_area_and_proof_loads(size: str, published: tuple[float, float, float]) -> None:
    thread, (area, usual, strong) = parse_thread(size), published
    assert stress_area(thread) == pytest.approx(area, rel=0.004)
    for name, load in (("8.8", usual), ("10.9", strong)):
        strength = strength_of(name, thread)
        assert proof_load(thread, strength) == load
        # The standard rounds: 20.1 mm² of 580 MPa are 11,658 N, and 11,600 N are published.
        assert strength.proof * stress_area(thread) == pytest.approx(load, rel=0.007)


VDI_2230_COARSE = {
    # N·m of 8.8 and of 10.9, each at friction 0.12 and 0.14; worked out by the method of VDI 2230.
    "M5": (5.8, 6.5, 8.6, 9.5),
    "M6": (10.1, 11.3, 14.9, 16.5),
    "M8": (24.6, 27.3, 36.1, 40.1),
    "M10": (48.5, 53.9, 71.2, 79.2),
    "M12": (83.6, 93.1, 122.8, 136.7),
    "M14": (133.6, 148.7, 196.2, 218.4),
}


@pytest.mark.parametrize(("size", "worked"), VDI_2230_COARSE.items())
def test_torques_of_coarse_threads(size: str, worked: tuple[float, ...]) -> None:
    thread = parse_thread(size)
    found = [
        torque(thread, strength_of(name, thread), friction).newton_metres
        for name in ("8.8", "10.9")
        for friction in (0.12, 0.14)
    ]
    assert found == pytest.approx(worked, abs=0.051)


@pytest.mark.parametrize(
    ("size", "force", "moment"),
    # kN and N·m as published in VDI 2230:2001 and 2003, 8.8 at friction 0.12.
    [("M8x1", 20.2, 26.1), ("M10x1.25", 31.6, 51), ("M12x1.25", 48.0, 90), ("M14x1.5", 64.8, 142)],
)
def test_fine_threads(size: str, force: float, moment: float) -> None:
    thread = parse_thread(size)
    usual = strength_of("8.8", thread)
    assert preload(thread, usual, 0.12) / 1000 == pytest.approx(force, rel=0.003)
    assert torque(thread, usual, 0.12).newton_metres == pytest.approx(moment, rel=0.006)


@pytest.mark.parametrize(
    ("size", "name", "value"),
    # Published in tables after the edition of 1986, N·m at friction 0.14.
    [
        ("M8", "8.8", 25),
        ("M8", "10.9", 36),
        ("M10", "8.8", 49),
        ("M10", "10.9", 72),
        ("M12", "8.8", 85),
        ("M12", "10.9", 125),
    ],
)
def test_a_value_of_the_older_edition_is_recognised(size: str, name: str, value: float) -> None:
    thread = parse_thread(size)
    now = torque(thread, strength_of(name, thread), 0.14).newton_metres
    assert edition_of(Torque(value), thread, strength_of(name, thread)) == "VDI 2230:1986, friction 0.14"
    assert 0.895 <= value / now <= 0.935


def test_a_value_of_now_is_recognised_and_another_is_not() -> None:
    thread = parse_thread("M10")
    usual = strength_of("8.8", thread)
    assert edition_of(Torque(48.5), thread, usual) == "VDI 2230:2003, friction 0.12"
    assert edition_of(Torque(53.9), thread, usual) == "VDI 2230:2003, friction 0.14"
    assert edition_of(Torque(44), thread, usual) is None


@pytest.mark.parametrize("size", ["M6", "M8", "M10", "M12"])
def test_torque_is_factor_times_force_times_diameter(size: str) -> None:
    # K about 0.16 at friction 0.12 and 0.19 at 0.14; worked out.
    thread = parse_thread(size)
    usual = strength_of("8.8", thread)
    assert nut_factor(thread, usual, 0.12) == pytest.approx(0.16, abs=0.007)
    assert nut_factor(thread, usual, 0.14) == pytest.approx(0.19, abs=0.007)
    for friction in (0.12, 0.14):
        factor, force = nut_factor(thread, usual, friction), preload(thread, usual, friction)
        assert force_at(torque(thread, usual, friction), factor, thread) == pytest.approx(force)
        assert torque(thread, usual, friction).newton_metres == pytest.approx(
            factor * force * thread.diameter / 1000
        )


def test_a_thick_bolt_of_8_8_is_made_of_stronger_steel() -> None:
    # ISO 898-1: above 16 mm the proof stress is 600 MPa; M20 proof load 147 kN, from memory.
    thread = parse_thread("M20")
    assert proof_load(thread, strength_of("8.8", thread)) == pytest.approx(147_000, rel=0.004)


def test_an_inch_bolt_bears_by_its_grade() -> None:
    # SAE J429, from memory: 1/2-13 grade 5 has a proof load of 12,100 lbf, 53.8 kN.
    thread = parse_thread("1/2-13 UNC")
    assert proof_load(thread, strength_of("grade 5", thread)) == pytest.approx(53_800, rel=0.004)


def test_an_unknown_class_is_refused_with_the_nearest() -> None:
    with pytest.raises(ValueError, match=r"class '8\.9' is not known; did you mean '8\.8'\?|'9\.8'"):
        strength_of("8.9", parse_thread("M8"))


def test_a_thread_without_a_pitch_has_no_strength() -> None:
    with pytest.raises(ValueError, match="M13 has no standard pitch; write it"):
        stress_area(parse_thread("M13"))
