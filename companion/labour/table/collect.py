"""The step table kept up to date with the logs, in a Parquet file beside them that can always be deleted.

DuckDB takes every line apart and keeps the words; numpy folds the numbers. Each core has its own batches on
one DuckDB thread, which keeps the order of lines. A log with any fault is left out whole, told, and tried
again each time; only a torn last line is cut off. A copy of a log does not count twice.
"""

import os
import tempfile
from collections.abc import Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from hashlib import sha256
from pathlib import Path
from typing import Any

import duckdb
import numpy as np

from companion.errors import LabourError
from companion.files import replacing
from companion.harmless import harmless
from companion.labour.table.batch import COPIES, KEEP, TABLE, TABLES, WITHOUT, fill
from companion.labour.table.columns import CACHE
from companion.labour.table.doing import RENAMED, WORDINGS, Joined, joins
from companion.labour.table.hours import Hours
from companion.labour.table.kept_sql import question, worded
from companion.labour.table.read_logs import Fault, batches
from companion.labour.table.shop import shop_of
from companion.procedure.model import Procedure

VERSION = 3
"""The version of the rules. A table made by other rules is made again."""
BATCH_BYTES = 32_000_000
MEMORY = "600MB"
THREADS = min(2, os.cpu_count() or 1)
MOST_NAMED = 5
"""How many of the logs that cannot be read one message names."""

Stamp = tuple[int, int, int]
"""The size of a log, and when its content and its file were changed. A log with a new stamp is read again."""


class StepTable:
    """The step table of a logs folder, opened in DuckDB as the view `steps`. Use it in a `with` statement."""

    def __init__(
        self, connection: duckdb.DuckDBPyConnection, parquet: Path | None, faults: Sequence[Fault] = ()
    ) -> None:
        self.connection = connection
        self.parquet = parquet
        """Its file. None when the folder cannot be written to: then the table is only in memory."""
        self.faults = tuple(faults)
        """The logs that are not in the table, or not to their last line, and why."""
        self.found: dict[tuple[str, str], Any] = {}
        """What was worked out from it before, by what that is and the title."""
        self.joined: tuple[Joined, ...] = ()
        """The wordings that are taken for the same step."""
        self._has_per_job = False
        self._aside = ThreadPoolExecutor(1)
        self._ahead: dict[str, Future[list[dict[str, Any]]]] = {}

    def __enter__(self) -> "StepTable":
        return self

    def __exit__(self, *_: object) -> None:
        self._aside.shutdown()
        self.connection.close()

    def query(self, sql: str, parameters: dict[str, Any] | None = None) -> list[dict[str, Any]]:
        """The rows of a query over `steps`, as plain data."""
        return _rows(self.connection.execute(sql, parameters or {}))

    def ask(self, asked: Any) -> list[dict[str, Any]]:
        """The rows of a question, as plain data.

        Args:
            asked: the name of a question that is kept as SQL (`kept_sql.py`), or any Ibis expression over
                `questions.STEPS` or `questions.JOBS`.
        """
        self.per_job()
        if isinstance(asked, str) and asked in self._ahead:
            return self._ahead.pop(asked).result()
        return self.query(question(asked) if isinstance(asked, str) else worded(asked))

    def ask_ahead(self, *names: str) -> None:
        """Have these kept questions answered while something else is worked out, for `ask` to give."""

        def answer(name: str) -> list[dict[str, Any]]:
            with self.connection.cursor() as own:
                return _rows(own.execute(question(name)))

        self.per_job()
        self._ahead |= {name: self._aside.submit(answer, name) for name in names}

    def per_job(self) -> None:
        """Make sure that the table `per_job` is there (`questions.per_job`)."""
        if self._has_per_job:
            return
        self.connection.execute(f"CREATE TABLE per_job AS {question('per_job')}")
        self._has_per_job = True

    def only(self, conditions: Mapping[str, object]) -> None:
        """From now on, ask of some rows of `per_job` alone: conditions with what each compares with."""
        self.per_job()
        if conditions:
            where = " AND ".join(conditions)
            made = f"CREATE OR REPLACE TABLE per_job AS FROM per_job WHERE {where}"
            # DuckDB takes no letters of another encoding.
            self.connection.execute(made, [harmless(str(one)) for one in conditions.values()])

    def join(self, pairs: Sequence[Joined]) -> None:
        """Take wordings for the same step: `steps` has the earlier one under the name of the later."""
        self.joined = tuple(pairs)
        names = ("title", "step", "work", "step_now", "work_now")
        rows = np.array([(p.title, *p.before, *p.now) for p in pairs], object).reshape(-1, len(names))
        self.connection.register("pairs", dict(zip(names, rows.T.copy(), strict=True)))
        self.connection.execute("CREATE TABLE renamed AS FROM pairs")
        self.connection.execute(f"CREATE VIEW steps AS {RENAMED if pairs else 'FROM logged_steps'}")

    def count(self) -> int:
        """How many attempts the table holds."""
        return int(self.query("SELECT count(*) AS n FROM steps")[0]["n"])


def _rows(found: duckdb.DuckDBPyConnection) -> list[dict[str, Any]]:
    names = [column[0] for column in found.description or ()]
    return [dict(zip(names, row, strict=True)) for row in found.fetchall()]


def collect(logs: Path, asked: Procedure | None = None) -> StepTable:
    """The step table of all job logs (`*.jsonl`) in the folder. Only logs that changed are read again.

    A log that cannot be read is left out and told in `faults`. It is tried again the next time. Steps that
    only changed their words are joined (`doing.py`).

    Args:
        asked: the procedure that is asked about, as it is worded now.

    Raises:
        LabourError: the folder is missing, none of its logs can be read, or what the shop says of itself
            cannot.
    """
    if not logs.is_dir():
        raise LabourError(f"{logs}: no such folder; name the folder of the job logs with --logs")
    shop = shop_of(logs)
    spill = Path(tempfile.gettempdir()) / f"step-times-{os.getpid()}"
    connection = duckdb.connect(config={"memory_limit": MEMORY, "temp_directory": str(spill)})
    connection.execute(f"SET threads = {THREADS}; SET TimeZone = 'UTC'")
    try:
        table = _up_to_date(connection, logs, shop.open_hours)
        table.join(joins(table.query(WORDINGS), logs, shop, asked))
        if table.faults and not table.count():
            raise LabourError(f"{logs}: {told(table.faults)}")
        return table
    except duckdb.Error as error:
        connection.close()
        first = str(error).splitlines()[0]
        raise LabourError(
            f"{logs}: the logs cannot be read ({first}); check them with 'companion jobs'"
        ) from error
    except BaseException:
        connection.close()
        raise


def told(faults: Sequence[Fault]) -> str:
    """What to say of logs that could not be read, on one line."""
    left_out = [fault for fault in faults if not fault.torn]
    torn = [fault for fault in faults if fault.torn]
    parts = []
    for what, those in (("left out", left_out), ("torn", torn)):
        if those:
            count = "one log is" if len(those) == 1 else f"{len(those)} logs are"
            more = f"; and {len(those) - MOST_NAMED} more" if len(those) > MOST_NAMED else ""
            parts.append(f"{count} {what}: {'; '.join(map(str, those[:MOST_NAMED]))}{more}")
    return "; ".join([*parts, "'companion jobs' shows them"])


def _up_to_date(connection: duckdb.DuckDBPyConnection, logs: Path, hours: Hours | None) -> StepTable:
    folder = logs / CACHE
    rules = f"{VERSION}-{sha256(str(hours).encode()).hexdigest()[:8]}" if hours else str(VERSION)
    steps, known = folder / f"steps-{rules}.parquet", folder / f"logs-{rules}.parquet"
    present = _present(logs)
    before = _known(connection, known) if steps.is_file() else {}
    same = {name: why for name, (stamp, why) in before.items() if present.get(name) == stamp}
    faults = [Fault(name, why, torn=True) for name, why in same.items() if why]
    connection.execute(TABLES)
    new, read_now = _fill(connection, logs, present, [name for name in present if name not in same], hours)
    faults = sorted([*faults, *read_now], key=lambda fault: fault.log)
    if steps.is_file() and not new and len(same) == len(before):
        connection.execute(f"CREATE VIEW logged_steps AS FROM read_parquet('{_quoted(steps)}')")
        return StepTable(connection, steps, faults)
    if same:
        places = {name: place for place, name in enumerate(present) if name in same}
        kept = {"names": list(places), "places": list(places.values())}
        connection.execute(KEEP[0], {"steps": str(steps), **kept})
        for statement in KEEP[1:]:
            connection.execute(statement)
    copies = dict(connection.execute(COPIES).fetchall())
    if copies:
        for statement in WITHOUT:
            connection.execute(statement, {"logs": list(copies)})
        faults += [Fault(log, f"tells of the same job as {first}") for log, first in copies.items()]
        same, new = {n: w for n, w in same.items() if n not in copies}, [n for n in new if n not in copies]
    try:
        folder.mkdir(exist_ok=True)
        _write(connection, TABLE, steps)
        _write_known(connection, known, {name: present[name] for name in [*same, *new]}, faults)
    except (OSError, duckdb.IOException):
        # The file only saves time. Without it the table is made from the logs each time.
        connection.execute("CREATE TABLE logged_steps AS " + TABLE)
        return StepTable(connection, None, faults)
    connection.execute(
        f"DROP TABLE all_steps; CREATE VIEW logged_steps AS FROM read_parquet('{_quoted(steps)}')"
    )
    return StepTable(connection, steps, faults)


def _present(logs: Path) -> dict[str, Stamp]:
    """The stamp of each log, by name.

    The folder is opened where the system allows it: a name in an open folder is looked up twice as fast.
    """
    folder = os.open(logs, os.O_RDONLY) if os.scandir in os.supports_fd else None
    try:
        with os.scandir(logs if folder is None else folder) as entries:
            found = {e.name: _stamp(e) for e in entries if e.name.endswith(".jsonl")}
    finally:
        if folder is not None:
            os.close(folder)
    return dict(sorted(found.items()))


def _stamp(entry: "os.DirEntry[str]") -> Stamp:
    try:
        status = entry.stat()
    except OSError:  # a link that leads nowhere: reading it tells why
        return (0, 0, 0)
    return (status.st_size, status.st_mtime_ns, status.st_ctime_ns)


def _fill(
    connection: duckdb.DuckDBPyConnection,
    logs: Path,
    present: Mapping[str, Stamp],
    names: Sequence[str],
    hours: Hours | None,
) -> tuple[list[str], list[Fault]]:
    """Read the named logs into the tables. Each core has batches of its own.

    Returns:
        The logs that are now in the tables, and what is wrong with any.
    """

    def one(batch: list[tuple[int, str]]) -> list[Fault]:
        with connection.cursor() as own:
            return fill(own, logs, batch, hours)

    if not names:
        return [], []
    connection.execute("SET threads = 1")
    with ThreadPoolExecutor(THREADS) as pool:
        faults = [
            fault for some in pool.map(one, batches(present, names, BATCH_BYTES, THREADS)) for fault in some
        ]
    connection.execute(f"SET threads = {THREADS}; SET preserve_insertion_order = false")
    left_out = {fault.log for fault in faults if not fault.torn}
    return [name for name in names if name not in left_out], faults


def _known(connection: duckdb.DuckDBPyConnection, known: Path) -> dict[str, tuple[Stamp, str]]:
    """The logs that are in the table: the stamp of each, and what was wrong with its last line."""
    if not known.is_file():
        return {}
    rows = connection.execute(f"FROM read_parquet('{_quoted(known)}')").fetchall()
    return {name: ((size, changed, touched), why) for name, size, changed, touched, why in rows}


def _write_known(
    connection: duckdb.DuckDBPyConnection, known: Path, stamps: Mapping[str, Stamp], faults: Sequence[Fault]
) -> None:
    why = {fault.log: fault.why for fault in faults}
    times = np.array(list(stamps.values()), np.int64).reshape(-1, 3)
    seen = {
        "log": np.array(list(stamps), object),
        **dict(zip(("size", "changed", "touched"), times.T.copy(), strict=True)),
        "why": np.array([why.get(name, "") for name in stamps], object),
    }
    connection.register("seen", seen)
    _write(connection, "SELECT * REPLACE (log::VARCHAR AS log, why::VARCHAR AS why) FROM seen", known)


def _write(connection: duckdb.DuckDBPyConnection, source: str, target: Path) -> None:
    """Write a table whole or not at all: another process may be reading the old file."""
    with replacing(target) as new:
        connection.execute(f"COPY ({source}) TO '{_quoted(new)}' (FORMAT parquet, COMPRESSION snappy)")


def _quoted(path: Path) -> str:
    return str(path).replace("'", "''")
