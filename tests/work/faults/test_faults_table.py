"""Each row of the table of faults names tests that are there, and no fault of the list is without a row."""

import ast
import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[2]
TABLE = (Path(__file__).parent / "FAULTS.md").read_text(encoding="utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in TABLE.splitlines()
    if line.startswith("|") and not line.startswith(("|---", "| what happens"))
]
NAMED = re.compile(r"`([\w/]+\.py)::(\w+)`")
FAULTS = (
    "kill -9", "random instant", "full", "read-only", "taken away", "permission", "torn", "garbled",
    "reordered", "doubled", "cut off", "newer version", "another machine", "set back", "time zone",
    "daylight saving", "suspended", "microphone lost", "microphone hung", "microphone slow",
    "loudspeaker lost", "loudspeaker hung", "loudspeaker slow", "synthesiser killed", "synthesiser hung",
    "synthesiser slow", "recogniser lost", "recogniser hung", "closed", "resized to nothing", "no keyboard",
    "no home", "C locale", "two companions",
)  # fmt: skip


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_a_row_is_whole_and_its_tests_are_there(row):
    assert len(row) == 5, row
    what, heard, kept, _, shown = row
    assert what
    assert heard
    assert kept
    named = NAMED.findall(shown)
    assert named, "no test is named"
    for file, name in named:
        tree = ast.parse((TESTS / file).read_text(encoding="utf-8"))
        assert name in {n.name for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)}, f"{file}::{name}"


@pytest.mark.parametrize("fault", FAULTS)
def test_the_fault_has_a_row(fault):
    assert any(fault in row[0] for row in ROWS)
