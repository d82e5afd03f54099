"""The step table kept up to date with the logs, in a Parquet file beside them that can always be deleted."""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import duckdb

from companion.errors import LabourError
from companion.labour.folding import FOLD, READ
from companion.labour.kept import CACHE
from companion.labour.table import COLUMNS

VERSION = 1
"""Of the rules: a table built by other rules is built again."""
BATCH_BYTES = 64_000_000
MEMORY = "600MB"

_ALL = f"""
SELECT {", ".join(f"CAST({column} AS {kind}) AS {column}" for column, kind in COLUMNS.items())}
FROM (FROM all_steps SELECT *, started AS day)
JOIN (SELECT log, row_number() OVER (ORDER BY opened, log) AS job_number FROM all_steps GROUP BY log, opened)
USING (log)
"""


class StepTable:
    """The tidy step table of a logs folder, opened in DuckDB as the view `steps`.

    Close it, or use it in a `with` statement.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection, parquet: Path | None) -> None:
        self.connection = connection
        self.parquet = parquet
        """The file, or None when the folder cannot be written to and the table is only in memory."""
        self._has_per_job = False

    def __enter__(self) -> "StepTable":
        return self

    def __exit__(self, *_: object) -> None:
        self.connection.close()

    def query(self, sql: str, parameters: dict[str, Any] | None = None) -> list[dict[str, Any]]:
        """The rows of a query over `steps`, as plain data."""
        found = self.connection.execute(sql, parameters or {})
        names = [column[0] for column in found.description or ()]
        return [dict(zip(names, row, strict=True)) for row in found.fetchall()]

    def ask(self, expression: Any) -> list[dict[str, Any]]:
        """The rows of an Ibis expression over `expressions.STEPS` or `expressions.JOBS`, as plain data."""
        import ibis

        self.per_job()
        return self.query(str(ibis.to_sql(expression, dialect="duckdb")))

    def per_job(self) -> None:
        """Make sure that the table `per_job` is there (see `expressions.per_job`)."""
        if self._has_per_job:
            return
        import ibis

        from companion.labour.expressions import per_job

        self.connection.execute(f"CREATE TEMP TABLE per_job AS {ibis.to_sql(per_job(), dialect='duckdb')}")
        self._has_per_job = True

    def count(self) -> int:
        """How many attempts the table holds."""
        return int(self.query("SELECT count(*) AS n FROM steps")[0]["n"])


def collect(logs: Path) -> StepTable:
    """The step table of all job logs (`*.jsonl`) in the folder; only logs that changed are read again.

    LabourError when the folder is not there or a log cannot be read as one.
    """
    if not logs.is_dir():
        raise LabourError(f"{logs}: no such folder; name the folder of the job logs with --logs")
    connection = duckdb.connect(config={"memory_limit": MEMORY, "preserve_insertion_order": False})
    connection.execute(f"SET threads = {min(2, os.cpu_count() or 1)}; SET TimeZone = 'UTC'")
    try:
        return _up_to_date(connection, logs)
    except duckdb.Error as error:
        connection.close()
        first = str(error).splitlines()[0]
        raise LabourError(
            f"{logs}: the logs cannot be read ({first}); check them with 'companion jobs'"
        ) from error


def _up_to_date(connection: duckdb.DuckDBPyConnection, logs: Path) -> StepTable:
    folder = logs / CACHE
    steps, known = folder / f"steps-{VERSION}.parquet", folder / f"logs-{VERSION}.parquet"
    present = _present(logs)
    before = _known(connection, known) if steps.is_file() else {}
    changed = [name for name, stamp in present.items() if before.get(name) != stamp]
    gone = [name for name in before if name not in present]
    if steps.is_file() and not changed and not gone:
        connection.execute(f"CREATE VIEW steps AS FROM read_parquet('{_quoted(steps)}')")
        return StepTable(connection, steps)
    connection.execute("CREATE TEMP TABLE all_steps AS " + _empty())
    if before:
        connection.execute(
            f"INSERT INTO all_steps BY NAME SELECT * EXCLUDE (job_number, day) "
            f"FROM read_parquet('{_quoted(steps)}') WHERE log NOT IN (SELECT unnest($stale))",
            {"stale": [*changed, *gone, ""]},
        )
    for batch in _batches(changed, present):
        _fold(connection, logs, batch)
    try:
        folder.mkdir(exist_ok=True)
        _write(connection, _ALL, steps)
        connection.execute("CREATE OR REPLACE TEMP TABLE seen (log VARCHAR, size BIGINT, changed BIGINT)")
        connection.execute(
            "INSERT INTO seen SELECT unnest($n), unnest($s), unnest($c)",
            {
                "n": list(present),
                "s": [s for s, _ in present.values()],
                "c": [c for _, c in present.values()],
            },
        )
        _write(connection, "FROM seen", known)
    except (OSError, duckdb.IOException):
        # The file only saves time: a folder that cannot be written to still has its times.
        connection.execute("CREATE TEMP TABLE steps AS " + _ALL)
        return StepTable(connection, None)
    connection.execute(f"DROP TABLE all_steps; CREATE VIEW steps AS FROM read_parquet('{_quoted(steps)}')")
    return StepTable(connection, steps)


def _present(logs: Path) -> dict[str, tuple[int, int]]:
    """Size and time of change of each log, by name."""
    with os.scandir(logs) as entries:
        found = {e.name: e.stat() for e in entries if e.name.endswith(".jsonl") and e.is_file()}
    return {name: (s.st_size, s.st_mtime_ns) for name, s in sorted(found.items())}


def _known(connection: duckdb.DuckDBPyConnection, known: Path) -> dict[str, tuple[int, int]]:
    if not known.is_file():
        return {}
    rows = connection.execute(f"FROM read_parquet('{_quoted(known)}')").fetchall()
    return {name: (size, changed) for name, size, changed in rows}


def _batches(names: Sequence[str], present: dict[str, tuple[int, int]]) -> Iterator[list[str]]:
    batch: list[str] = []
    size = 0
    for name in names:
        batch.append(name)
        size += present[name][0]
        if size > BATCH_BYTES:
            yield batch
            batch, size = [], 0
    if batch:
        yield batch


def _fold(connection: duckdb.DuckDBPyConnection, logs: Path, names: list[str]) -> None:
    paths = [str(logs / name) for name in names]
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE batch AS SELECT unnest(range(len($names)))::INTEGER AS log, "
        "unnest($paths) AS path, unnest($names) AS name",
        {"paths": paths, "names": names},
    )
    middle = len(paths) // 2
    # read_text needs at least one file in each half; a lone log is read once because the other is empty.
    halves = {"half": paths[:middle] or [os.devnull], "other_half": paths[middle:]}
    connection.execute(READ, halves)
    _check(connection, logs)
    for statement in FOLD:
        connection.execute(statement)


def _check(connection: duckdb.DuckDBPyConnection, logs: Path) -> None:
    odd = connection.execute(
        'SELECT b.name, count(l.opening), bool_or(l.seq IS NULL OR l."at" IS NULL OR l.mono IS NULL) '
        "FROM batch AS b JOIN lines AS l ON l.log = b.log GROUP BY b.name "
        "HAVING count(l.opening) <> 1 OR max(l.opening) NOT SIMILAR TO '.*\"schema\": ?1,.*' "
        'OR bool_or(l.seq IS NULL OR l."at" IS NULL OR l.mono IS NULL) ORDER BY 1 LIMIT 1'
    ).fetchone()
    if odd:
        why = "is not of schema 1" if odd[1] == 1 else "has no single job_opened"
        why = "has a line without number or times" if odd[2] else why
        raise LabourError(f"{logs / odd[0]}: {why}; move it out of the logs folder to go on without it")


def _empty() -> str:
    columns = (f"CAST(NULL AS {t}) AS {c}" for c, t in COLUMNS.items() if c not in ("job_number", "day"))
    return f"SELECT {', '.join(columns)} WHERE false"


def _write(connection: duckdb.DuckDBPyConnection, source: str, target: Path) -> None:
    """Whole or not at all: another process may be reading the old file."""
    partial = target.with_name(f"{target.name}.{os.getpid()}")
    connection.execute(f"COPY ({source}) TO '{_quoted(partial)}' (FORMAT parquet, COMPRESSION zstd)")
    os.replace(partial, target)


def _quoted(path: Path) -> str:
    return str(path).replace("'", "''")
