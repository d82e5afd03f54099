"""Each room of labour builds only on those before it."""

import ast
from pathlib import Path

import pytest

LABOUR = Path(__file__).parents[2] / "companion" / "labour"
BUILDS_ON = {
    "table": set(),
    "model": {"table"},
    "answers": {"table", "model"},
    "plan": {"table", "model", "answers"},
    "report": {"table", "model", "answers"},
}


@pytest.mark.parametrize("room", BUILDS_ON)
def test_a_room_builds_only_on_those_before_it(room: str) -> None:
    found = set()
    for path in (LABOUR / room).glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("companion.labour."):
                found.add(str(node.module).split(".")[2])
    assert found - {room} <= BUILDS_ON[room]


def test_there_is_no_other_room() -> None:
    assert {path.parent.name for path in LABOUR.glob("*/__init__.py")} == set(BUILDS_ON)
