"""Asked for more, the order round a joint is told in words of place, three places a saying."""

from companion.job.facts.commands import Command
from companion.procedure.model import Procedure
from tests.job.conftest import Mechanic


def tightening(**bolts: object) -> Mechanic:
    fastener = {"what": "head bolts", "thread": "M8", "torque": "22 N·m", **bolts}
    mechanic = Mechanic(
        Procedure.from_data({
            "title": "Head", "applies_to": ["Marlow Tern (invented)"], "source_of_torques": "invented",
            "steps": [{"act": "tighten", "say": "Tighten the head.", "fasteners": [fastener]}],
        })
    )  # fmt: skip
    mechanic.opens()
    return mechanic


def test_the_order_of_a_grid_is_told_from_the_middle_outwards() -> None:
    assert tightening(count=10, pattern="grid 2 by 5").says(Command.MORE) == [
        "Sequence for the head bolts: middle left, then middle right, then left second from the front.",
        "Then right second from the rear, then right second from the front, then left second from the rear.",
        "Then front right, then rear left, then front left.",
        "Then rear right.",
    ]


def test_the_order_of_a_circle_is_told_crosswise() -> None:
    assert tightening(count=4, pattern="circle of 4").says(Command.MORE) == [
        "Sequence for the head bolts: twelve o'clock, then six o'clock, then three o'clock.",
        "Then nine o'clock.",
    ]


def test_a_written_sequence_is_told_as_it_is() -> None:
    told = tightening(count=4, pattern="circle of 4", sequence="crosswise").says(Command.MORE)
    assert told == ["Sequence: crosswise."]


def test_without_a_pattern_there_is_no_more() -> None:
    assert tightening(count=4).says(Command.MORE) == ["There is no more to this step."]
