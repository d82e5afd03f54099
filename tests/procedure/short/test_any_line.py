"""Whatever stands on a line, it is read or refused; nothing else comes of it."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.procedure.fasteners.sequence import Layout
from companion.procedure.fasteners.sizes import Size
from companion.procedure.fasteners.threads import thread_as_written
from companion.procedure.short.steps import filled_in
from companion.procedure.things import BenchPart, Energy, Fastener, Hazard, Item, Measure, Part, Seal

PIECES = st.sampled_from(
    [
        "2",
        "×",
        "0",
        "999",
        "M6",
        "M0",
        "M8x0",
        "x",
        "hex",
        "socket",
        "T30",
        "PH2",
        "square",
        "1/4",
        "1/0",
        "in",
        "-",
        "-20",
        "UNC",
        "G1/4",
        "#10",
        "#0-0",
        ",",
        "8",
        "N·m",
        "°",
        "+",
        "90°",
        "class",
        "8.8",
        "bag",
        "new",
        "circle",
        "of",
        "grid",
        "by",
        "to",
        "at",
        "most",
        "least",
        "0.5",
        "V",
        "psi",
        "panel",
        "battery",
        "wait",
        "min",
        "single",
        "part",
        "joint",
        "CAUTION:",
        ".",
        ";",
        "é",
        "½",
        "²",
        "١",
    ]
)
LINES = st.lists(PIECES, max_size=12).map(" ".join) | st.text(max_size=40)


@pytest.mark.parametrize("noun", [Fastener, Item, BenchPart, Seal, Measure, Energy, Hazard])
@given(line=LINES)
def test_a_noun(noun: type[Part], line: str) -> None:
    with suppress(ValueError):
        noun.model_validate(line)


@given(LINES)
def test_a_size_a_thread_and_a_layout(line: str) -> None:
    for read in (Size.parse, thread_as_written, Layout.parse):
        with suppress(ValueError):
            read(line)


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | LINES,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["id", "act", "say", "book", "fasteners", "count", "stages", "steps"]),
            inner,
            max_size=5,
        )
    ),
    max_leaves=12,
)


@given(ANY | st.fixed_dictionaries({"steps": st.lists(ANY, max_size=4)}))
def test_what_is_filled_in_keeps_what_is_there(data: object) -> None:
    filled = filled_in(data)
    if isinstance(data, dict) and isinstance(data.get("steps"), list):
        for before, after in zip(data["steps"], filled["steps"], strict=True):
            if isinstance(before, dict):
                assert before.items() <= after.items()
            else:
                assert after is before
    else:
        assert filled is data
