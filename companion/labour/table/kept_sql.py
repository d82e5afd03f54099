"""The questions of every report, as the SQL that Ibis makes of them.

After a change in `asked_of_table.py`, write the files in `sql/` anew:

    python -m companion.labour.table.kept_sql

They are kept because Ibis is slow to load: it takes longer to make the SQL than DuckDB takes to answer it for
a hundred thousand records. The expressions remain what counts. The tests compare the answers, and with the
same Ibis the words.
"""

from pathlib import Path
from typing import Any

from companion.labour.table.columns import MINUTES_BY

FOLDER = Path(__file__).parent / "sql"


def question(name: str) -> str:
    """The SQL of a kept question, for DuckDB."""
    return (FOLDER / f"{name}.sql").read_text(encoding="utf-8")


def expressions() -> dict[str, Any]:
    """The questions that are kept, by name, as Ibis expressions."""
    from companion.labour.table import asked_of_table as ask

    return {
        "per_job": ask.per_job(),
        "by_step": ask.by_step(),
        "interruptions": ask.interruptions(),
        "slowest": ask.slowest(),
        "noted": ask.noted(ask.slowest()),
        "usual_order": ask.usual_order(),
        "by_shop": ask.by_shop(),
        **{f"minutes_by_{by}": ask.minutes_by(by) for by in MINUTES_BY},
    }


def worded(expression: Any) -> str:
    """The SQL of an expression, for DuckDB, and which Ibis made it."""
    import ibis

    return f"-- by Ibis {ibis.__version__}\n{ibis.to_sql(expression, dialect='duckdb')}\n"


def main() -> None:
    """Write all of them."""
    FOLDER.mkdir(exist_ok=True)
    for name, expression in expressions().items():
        (FOLDER / f"{name}.sql").write_text(worded(expression), encoding="utf-8")


if __name__ == "__main__":
    main()
