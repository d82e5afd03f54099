"""What the companion asks of a step table at every report, as the SQL that Ibis makes of the expressions.

    python -m companion.labour.table.kept_sql

writes the files in `sql/` anew, after a change in `questions.py`. They are kept because loading Ibis and
having it put the questions into words takes longer than DuckDB does to answer them for a hundred thousand
records. The expressions remain what counts: the tests compare the answers, and with the same Ibis the words.
"""

from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "sql"


def question(name: str) -> str:
    """The SQL of a question (a key of `expressions`), for DuckDB."""
    return (FOLDER / f"{name}.sql").read_text(encoding="utf-8")


def expressions() -> dict[str, Any]:
    """The questions that are kept, as Ibis expressions, by name."""
    from companion.labour.table import questions as ask

    return {
        "per_job": ask.per_job(),
        "by_step": ask.by_step(),
        "interruptions": ask.interruptions(),
        "slowest": ask.slowest(),
        "noted": ask.noted(ask.slowest()),
        "usual_order": ask.usual_order(),
    }


def worded(expression: Any) -> str:
    """The SQL of an expression, for DuckDB, and which Ibis put it so."""
    import ibis

    return f"-- by Ibis {ibis.__version__}\n{ibis.to_sql(expression, dialect='duckdb')}\n"


def main() -> None:
    """Write all of them."""
    FOLDER.mkdir(exist_ok=True)
    for name, expression in expressions().items():
        (FOLDER / f"{name}.sql").write_text(worded(expression), encoding="utf-8")


if __name__ == "__main__":
    main()
