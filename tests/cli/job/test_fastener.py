"""`companion fastener`: what the standards say of a thread, and that the maker rules."""

import pytest
from click.testing import CliRunner, Result

from companion.cli import group
from companion.errors import CompanionError


def fastener(*words: str) -> Result:
    return CliRunner().invoke(group, ["fastener", *words])


def test_a_bolt_is_told_with_its_sources() -> None:
    told = fastener("M10", "--class", "8.8").output
    # ISO 898-1: 58.0 mm², 33.7 kN. VDI 2230: 48.5 and 53.9 N·m at friction 0.12 and 0.14, worked out.
    assert "Stress area: 58.0 mm². Proof load of 8.8: 33,700 N (ISO 898-1)." in told
    assert (
        "At friction 0.12: preload 29.6 kN, torque 48.5 N·m (35.7 lbf·ft); K = 0.164. VDI 2230:2003" in told
    )
    assert "torque 53.9 N·m" in told
    assert "Hexagon: 16 mm (ISO 272 / ISO 4014)" in told
    assert "the value of the vehicle maker rules" in told


def test_a_torque_is_judged_and_an_older_table_recognised() -> None:
    assert (
        "89% of the proof load. It is the value of VDI 2230:1986, friction 0.14."
        in fastener("M10", "--torque", "49 N·m").output
    )
    assert "That is more than it bears." in fastener("M8", "--torque", "60 lbf·ft").output


def test_one_friction_and_the_order_round() -> None:
    told = fastener("M12x1.25", "--friction", "0.12", "--pattern", "circle of 4").output
    assert told.count("At friction") == 1
    assert "twelve o'clock, six o'clock, three o'clock, nine o'clock" in told


def test_a_pipe_thread_is_no_bolt() -> None:
    told = fastener("G1/4").output
    assert "A pipe thread seals and holds no joint together" in told
    assert "preload" not in told


def test_an_odd_size_is_told_as_none_of_its_standard() -> None:
    assert "not a size of ISO 261 / ISO 262, whose pitches are 1.25, 1, 0.75 mm" in fastener("M8x1.3").output


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("wheel",), "write a thread like 'M8'"),
        (("M8", "--class", "8.9"), "class '8.9' is not known; did you mean '8.8'"),
        (("M8", "--friction", "nan"), "--friction nan is none of a bolt"),
        (("M8", "--torque", "lots"), "write it like '25 N·m'"),
        (("M8", "--pattern", "ring"), "write it like 'circle of 5'"),
    ],
)
def test_what_cannot_be_told_is_one_clear_line(words: tuple[str, ...], why: str) -> None:
    result = fastener(*words)
    assert isinstance(result.exception, CompanionError)
    assert why in str(result.exception)
    assert result.output == ""
