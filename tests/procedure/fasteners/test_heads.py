"""Heads on their threads, against the standards and what a workshop meets."""

import pytest

from companion.procedure.fasteners.heads import KNOWN_HEX, hex_for, six_lobe_for, socket_hex_for
from companion.procedure.fasteners.sizes import Size


@pytest.mark.parametrize(("thread", "size"), [("M6", 10), ("M8", 13), ("M10", 16), ("M12", 18), ("M14", 21)])
def test_current_across_flats(thread: str, size: float) -> None:
    # ISO 272 / ISO 4014; figures from memory.
    assert hex_for(thread)[0].size == size
    assert hex_for(thread)[0].source == "ISO 272 / ISO 4014"


@pytest.mark.parametrize(("thread", "size"), [("M10", 17), ("M12", 19), ("M14", 22), ("M7", 11)])
def test_older_across_flats(thread: str, size: float) -> None:
    # DIN 931 / DIN 933, older; figures from memory.
    assert size in [head.size for head in hex_for(thread) if "DIN" in head.source]


@pytest.mark.parametrize(
    ("thread", "socket", "lobe"),
    [("M5", 4, "T25"), ("M6", 5, "T30"), ("M8", 6, "T45"), ("M10", 8, "T50"), ("M12", 10, "T55")],
)
def test_cap_screws(thread: str, socket: float, lobe: str) -> None:
    # ISO 4762 and ISO 14579, whose sizes are those of ISO 10664; figures from memory.
    assert (socket_hex_for(thread)[0].size, six_lobe_for(thread)[0].size) == (socket, lobe)


@pytest.mark.parametrize("size", [10, 11, 13, 16, 19])
def test_heads_common_on_an_engine_are_known(size: float) -> None:
    assert size in KNOWN_HEX  # common practice, no source


def test_a_spark_plug_of_sixteen_millimetres_is_usual() -> None:
    assert 16 in [head.size for head in hex_for("M14x1.25")]  # common practice, no source


def test_a_fine_thread_carries_the_hexagon_of_its_diameter() -> None:
    assert hex_for("M12x1.5") == hex_for("M12")
    assert hex_for("M33") == ()


def test_an_inch_thread_carries_an_inch_head() -> None:
    # ASME B18.2.1, from memory: 1/4 in has 7/16 in flats, 1/2 in has 3/4 in.
    assert str(hex_for("1/4-20 UNC")[0].size) == str(hex_for("1/4-28 UNF")[0].size) == "7/16 in"
    assert hex_for("1/2-13 UNC")[0].size == pytest.approx(19.05)
    assert hex_for("G1/4") == ()


def test_a_size_remembers_how_it_was_written() -> None:
    assert [str(Size.parse(text)) for text in (10, "10 mm", "7/16 in", '1 1/16"')] == [
        "10 mm",
        "10 mm",
        "7/16 in",
        "1 1/16 in",
    ]
    for wrong in ("seven", 0, -3, True, "1/0 in", "10 cm", None, 5000):
        with pytest.raises(ValueError, match="write mm like 10, or inches like '7/16 in'"):
            Size.parse(wrong)
