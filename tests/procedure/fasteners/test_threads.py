"""Threads of every family, as a procedure writes them."""

import pytest

from companion.procedure.fasteners.threads import metric_sizes, parse_thread, thread_as_written


@pytest.mark.parametrize(
    ("text", "family", "diameter", "pitch"),
    [
        # ISO 261 / ISO 262, from memory.
        ("M6", "metric", 6, 1.0),
        ("M8", "metric", 8, 1.25),
        ("M10", "metric", 10, 1.5),
        ("M10x1.25", "metric", 10, 1.25),
        ("M14x1.25", "metric", 14, 1.25),
        # ASME B1.1, from memory.
        ("1/4-20 UNC", "unc", 6.35, 1.27),
        ("5/16-18", "unc", 7.9375, 1.4111),
        ("7/16-20", "unf", 11.1125, 1.27),
        ("#10-32 UNF", "unf", 4.826, 0.79375),
        ("1 1/16-12", "un", 26.9875, 2.1167),
        # ISO 228-1 and ASME B1.20.1, from memory.
        ("G1/4", "bsp", 13.157, 1.3368),
        ("R1/8", "bsp", 9.728, 0.9071),
        ("1/2 BSP", "bsp", 20.955, 1.8143),
        ("1/8 NPT", "npt", 10.287, 0.9407),
        ("1/8-27 NPT", "npt", 10.287, 0.9407),
    ],
)
def test_a_thread_is_found_in_its_family(text: str, family: str, diameter: float, pitch: float) -> None:
    thread = parse_thread(text)
    assert (thread.family, thread.standard) == (family, True)
    assert thread.diameter == pytest.approx(diameter, abs=1e-3)
    assert thread.pitch == pytest.approx(pitch, abs=1e-4)


@pytest.mark.parametrize("text", ["M8x1.3", "M13", "M6x1.25", "1/4-21", "1/4-18 UNC", "9/17 UNC", "M0"])
def test_a_size_of_no_standard_is_told_apart(text: str) -> None:
    assert not parse_thread(text).standard


@pytest.mark.parametrize(
    "text", ["8", "M", "m8", "M8x", "1/4", "1/0-20 UNC", "G", "hose", "", "M" + "9" * 5000, "1/4-20 UNX"]
)
def test_what_is_no_thread_is_refused_with_how_one_is_written(text: str) -> None:
    with pytest.raises(ValueError, match="write a thread like 'M8'"):
        parse_thread(text)


@pytest.mark.parametrize("text", ["M10x1.25", "M10 x 1.25", "M10×1.25", "m10x1.25", " M10x1.25 "])
def test_a_thread_may_be_written_as_people_write_it(text: str) -> None:
    assert thread_as_written(text).text == "M10x1.25"


def test_every_metric_size_of_the_tables_is_read_back_as_standard() -> None:
    sizes = [parse_thread(text) for text in metric_sizes()]
    assert len(sizes) > 90
    assert all(thread.standard for thread in sizes)
    assert [thread.text for thread in sizes if thread.coarse and "x" in thread.text] == []


def test_only_threads_of_bolts_bear() -> None:
    assert [parse_thread(text).bears for text in ("M8", "1/4-20 UNC", "G1/4", "1/8 NPT")] == [
        True,
        True,
        False,
        False,
    ]
