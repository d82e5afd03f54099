"""The SQL that is kept says what the expressions say."""

from pathlib import Path

import ibis
import pytest

from companion.labour.table.collect import collect
from companion.labour.table.kept_sql import FOLDER, expressions, question, worded
from tests.shops.logs import write_logs
from tests.shops.shop import Shop


def test_each_expression_is_kept_and_nothing_else() -> None:
    assert {file.stem for file in FOLDER.iterdir()} == set(expressions())


def test_the_kept_words_are_those_that_ibis_finds() -> None:
    by = question("by_step").splitlines()[0]
    if by != f"-- by Ibis {ibis.__version__}":
        pytest.skip(f"written {by}, here is {ibis.__version__}: it may put the same question otherwise")
    for name, expression in expressions().items():
        assert question(name) == worded(expression), f"write {name} anew (labour.table.kept_sql)"


def test_the_kept_words_have_the_same_answer(tmp_path: Path) -> None:
    list(write_logs(tmp_path, Shop.of(3, steps=5), 24, hold_every=6))
    with collect(tmp_path) as table:
        for name, expression in expressions().items():
            found = _rows(table.ask(name))
            assert found or name == "noted", "nothing was said in these jobs"
            assert found == _rows(table.ask(expression)), name


def test_what_is_asked_ahead_has_the_same_answer_while_something_else_is_asked(tmp_path: Path) -> None:
    list(write_logs(tmp_path, Shop.of(3, steps=5), 24, hold_every=6))
    with collect(tmp_path) as table:
        names = [name for name in expressions() if name != "per_job"]
        table.ask_ahead(*names)
        assert table.query("SELECT count(*) AS n FROM steps") == [{"n": 120}]
        for name in names:
            early, again = table.ask(name), table.ask(name)
            assert early or name == "noted", "nothing was said in these jobs"
            assert _rows(early) == _rows(again), name


def _rows(found: list[dict[str, object]]) -> list[list[str]]:
    """In any order; sums of floats to twelve digits, for they are added in any order too."""
    return sorted([f"{v:.12g}" if isinstance(v, float) else str(v) for v in row.values()] for row in found)
