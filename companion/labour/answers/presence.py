"""`companion hours`: who was there on which day, and for what, for the payroll's own program."""

from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, fields
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import numpy as np

from companion.labour.answers.written import csv_of
from companion.labour.table.columns import SPELL_COLUMNS
from companion.labour.table.kept_sql import worded
from companion.labour.table.spells import Spell, by_day, in_one_place

_LEAST = Decimal("0.01")


@dataclass(frozen=True)
class PersonDay:
    """One person on one day. Hours are to the hundredth, and the four parts add up to those present."""

    person: str
    """As told; empty when not."""
    day: date
    """In the shop."""
    first: datetime
    """When something first happened, UTC."""
    last: datetime
    present_h: Decimal
    active_h: Decimal
    """At work on a step."""
    waiting_h: Decimal
    """A step that is a wait, with the companion running."""
    interrupted_h: Decimal
    """On hold, with the companion running."""
    between_h: Decimal
    """Between steps: questions, the opening and the end of a job."""


COLUMNS = tuple(field.name for field in fields(PersonDay))


def person_days(spells: Iterable[Spell]) -> list[PersonDay]:
    """One row for each person and day, in order. Nobody is in two places."""
    from companion.labour.table.asked_of_table import presence

    with duckdb.connect() as connection:
        if not fill(connection, spells):
            return []
        rows = connection.execute(worded(presence())).fetchall()
    return [_row(*row) for row in rows]


def fill(connection: duckdb.DuckDBPyConnection, spells: Iterable[Spell]) -> int:
    """Make the table `spells`; returns how many there are, each within a day."""
    found = list(by_day(in_one_place(spells)))
    columns = {
        "person": np.array([s.person for _, s in found], object),
        "day": np.array([day.isoformat() for day, _ in found], object),
        "doing": np.array([s.doing.name.lower() for _, s in found], object),
        "started": np.array([round(s.begin * 1e6) for _, s in found], np.int64),
        "ended": np.array([round(s.end * 1e6) for _, s in found], np.int64),
        "seconds": np.array([s.end - s.begin for _, s in found], float),
    }
    kinds = ", ".join(f"{c} {k}" for c, k in SPELL_COLUMNS.items())
    connection.execute(f"CREATE TABLE spells ({kinds})")
    if found:
        connection.register("raw", columns)
        times = "make_timestamp(started) AS started, make_timestamp(ended) AS ended"
        connection.execute(
            f"INSERT INTO spells SELECT * REPLACE (CAST(day AS DATE) AS day, {times}) FROM raw"
        )
    return len(found)


def _row(person: str, day: date, first: datetime, last: datetime, *seconds: float) -> PersonDay:
    _, *parts = (Decimal(round(s / 36)) * _LEAST for s in seconds)
    return PersonDay(person, day, first, last, sum(parts, Decimal(0)), *parts)


def as_csv(rows: Sequence[PersonDay]) -> str:
    """As CSV (RFC 4180): a row for each person and day, and no others."""
    return csv_of(COLUMNS, ((row.person, *map(_written, astuple(row)[1:])) for row in rows))


def _written(value: object) -> object:
    return f"{value.isoformat(timespec='seconds')}Z" if isinstance(value, datetime) else value


def as_parquet(rows: Sequence[PersonDay]) -> bytes:
    """The same as a Parquet file, hours as DECIMAL."""
    kinds = dict.fromkeys(COLUMNS, "DECIMAL(9, 2)") | {
        "person": "VARCHAR",
        "day": "DATE",
        "first": "TIMESTAMP",
        "last": "TIMESTAMP",
    }
    with TemporaryDirectory() as folder, duckdb.connect() as connection:
        path = Path(folder) / "hours.parquet"
        connection.execute(f"CREATE TABLE hours ({', '.join(f'{c} {k}' for c, k in kinds.items())})")
        if rows:
            marks = ", ".join("?" * len(COLUMNS))
            connection.executemany(f"INSERT INTO hours VALUES ({marks})", [list(astuple(r)) for r in rows])
        connection.execute("COPY hours TO $path (FORMAT parquet)", {"path": str(path)})
        return path.read_bytes()
