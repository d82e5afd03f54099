"""What a file may say of fasteners, and the line that says what is known."""

import pytest

from companion.job.words.reading_out import drive
from companion.procedure.things import Fastener
from tests.procedure.checks.faults import COVER_BOLTS, FaultsOf


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"hex": 10}, "10 mm hex"),
        ({"hex": "7/16 in"}, "7/16 in hex"),
        ({"socket_hex": 6}, "6 mm socket hex"),
        ({"six_lobe": "T30"}, "six-lobe T30"),
        ({"driver": "PH2"}, "PH2"),
        ({}, None),
    ],
)
def test_the_drive_as_asked_for(data: dict[str, object], said: str | None) -> None:
    assert drive(Fastener.model_validate({"what": "cover screws", **data})) == said


@pytest.mark.parametrize(
    ("data", "why"),
    [
        ({"thread": "8 mm"}, "write a thread like 'M8'"),
        ({"hex": "ten"}, "write mm like 10, or inches like '7/16 in'"),
        ({"driver": "PH22"}, "Input should be .*'PH2'"),
        ({"class": 8.7}, "Input should be .*'8.8'"),
        ({"material": "aluminum"}, "Input should be .*'aluminium'"),
        ({"pattern": "circle of 5", "count": 6}, "`pattern` is of 5 and `count` is 6"),
        ({"pattern": "heap of 5", "count": 5}, "write it like 'circle of 5' or 'grid 2 by 5'"),
    ],
)
def test_what_is_not_known_is_refused_with_what_is(data: dict[str, object], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        Fastener.model_validate({"what": "cover screws", **data})


def test_a_class_may_be_written_as_a_number_and_a_thread_with_spaces() -> None:
    bolts = Fastener.model_validate({"what": "bolts", "class": 10.9, "thread": "M10 x 1.25"})
    assert (bolts.class_, bolts.thread) == ("10.9", "M10x1.25")
    assert Fastener.model_validate(bolts.model_dump()) == bolts


def test_the_order_round_is_the_written_one_before_that_of_the_pattern() -> None:
    wheel = {"what": "wheel bolts", "count": 5, "pattern": "circle of 5"}
    assert (Fastener.model_validate(wheel).order_round or "").startswith("twelve o'clock, five o'clock")
    assert Fastener.model_validate({**wheel, "sequence": "crosswise"}).order_round == "crosswise"


@pytest.mark.parametrize(
    ("spoilt", "told"),
    [
        ("class: 8.7", "8.7 is not known here; did you mean '8.8'?"),
        ("material: aluminum", "'aluminum' is not known here; did you mean 'aluminium'?"),
        ("driver: PH22", "'PH22' is not known here; did you mean 'PH2'?"),
        ("thread: 8 mm", "'8 mm' is no thread; write a thread like 'M8'"),
        ("hex: ten", "'ten' is no size of a tool; write mm like 10"),
        ("pattern: heap of 6", "'heap of 6' is no layout; write it like 'circle of 5'"),
    ],
)
def test_a_file_is_told_what_is_known(faults_of: FaultsOf, spoilt: str, told: str) -> None:
    key = spoilt.partition(":")[0]
    bolts = [
        part
        for part in ["what: cover bolts", "thread: M8", "hex: 13", "count: 6"]
        if not part.startswith(key)
    ]
    faults = faults_of((COVER_BOLTS, f"      - {{{', '.join([*bolts, spoilt])}, torque: 22 N·m}}"))
    assert any(told in fault for fault in faults), faults
