"""A batch of job logs, read and added to the tables that the step table is made from."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import duckdb
import numpy as np

from companion.labour.table.attempts import EVENTS, OPENED, OUTCOMES, Attempts, fold
from companion.labour.table.columns import COLUMNS
from companion.labour.table.hours import Hours
from companion.labour.table.read_logs import OF_JOB, Fault, events, parse, read

_OF_LOG = ("log", *OF_JOB)
_OF_ATTEMPT = tuple(c for c in COLUMNS if c not in (*_OF_LOG, "shop", "opened", "job_number", "day"))

TABLES = f"""
CREATE TABLE all_logs (place BIGINT, {", ".join(f"{c} VARCHAR" for c in _OF_LOG)}, opened TIMESTAMP);
CREATE TABLE all_steps (place BIGINT, {", ".join(f"{c} {COLUMNS[c]}" for c in _OF_ATTEMPT)})
"""
"""One table for what is the same in the whole log, one for each attempt. `place` numbers the logs."""

KEEP = (
    """
CREATE TEMP TABLE kept AS SELECT p.place, s.* FROM read_parquet($steps) AS s
JOIN (SELECT unnest($names) AS log, unnest($places) AS place) AS p ON p.log = s.log
""",
    f"INSERT INTO all_logs SELECT DISTINCT place, {', '.join(_OF_LOG)}, opened FROM kept",
    f"INSERT INTO all_steps SELECT place, {', '.join(_OF_ATTEMPT)} FROM kept",
    "DROP TABLE kept",
)
"""Statements that take over from a step table what it tells of logs that have not changed."""

TABLE = f"""
SELECT {", ".join(f"CAST({column} AS {kind}) AS {column}" for column, kind in COLUMNS.items())}
FROM (FROM all_steps SELECT *, started AS day)
JOIN (
    FROM all_logs AS l JOIN (
        SELECT lower(trim(mechanic)) AS who, mode(trim(mechanic) ORDER BY mechanic) AS usual
        FROM all_logs GROUP BY who
    ) AS w ON w.who = lower(trim(l.mechanic))
    SELECT l.* REPLACE (w.usual AS mechanic), '' AS shop,
        row_number() OVER (ORDER BY opened, log) AS job_number
) USING (place)
"""
"""People are told apart by their names, whatever the capitals: each goes by the spelling met most often."""

COPIES = """
SELECT l.log, k.first FROM all_logs AS l
JOIN (
    SELECT job, opened, arg_min(log, (log <> job || '.jsonl', log)) AS first
    FROM all_logs GROUP BY job, opened
) AS k ON k.job = l.job AND k.opened = l.opened AND k.first <> l.log
ORDER BY l.log
"""
"""Copies: logs of a job that another log tells of. They must not count twice. Two shops may have given two
jobs the same name; those were opened at other times."""

WITHOUT = (
    "DELETE FROM all_steps WHERE place IN (SELECT place FROM all_logs WHERE log IN (SELECT unnest($logs)))",
    "DELETE FROM all_logs WHERE log IN (SELECT unnest($logs))",
)

_OPENINGS = f"""
INSERT INTO all_logs SELECT place, {", ".join(f"o.{c}" for c in _OF_LOG)}, l."at"
FROM openings AS o JOIN (FROM lines WHERE code = {OPENED}) AS l USING (place)
"""
_ATTEMPTS = f"""
INSERT INTO all_steps BY NAME
WITH interruptions AS (
    SELECT s.number, list(s.seconds ORDER BY s.nth) AS interrupted_for_s,
        list(CASE WHEN l.code IS NULL THEN 'away'
            WHEN l.code = {EVENTS.index("work_stopped") + 1} THEN 'work stopped'
            ELSE coalesce(nullif(l.because, ''), 'held') END ORDER BY s.nth) AS interrupted_by
    FROM stretches AS s LEFT JOIN lines AS l ON l.rowid = s.line GROUP BY s.number
), noted AS (
    SELECT n.number, list(l.text ORDER BY l.seq) AS notes
    FROM said AS n JOIN (SELECT rowid, seq, text FROM lines WHERE text IS NOT NULL) AS l ON l.rowid = n.line
    GROUP BY n.number
)
SELECT l.place, l.step, coalesce(l.work, '') AS work, l.act, a.attempt, a.began_at, l."at" AS started,
    a.active_s, a.interrupted_s, coalesce(i.interrupted_by, []) AS interrupted_by,
    coalesce(i.interrupted_for_s, []) AS interrupted_for_s, l.book_s,
    {list(OUTCOMES)!r}[a.outcome + 1] AS outcome, a.outcome <> 0 OR a.gap AS censored, a.gap,
    l.act <> 'wait' AS labour, coalesce(n.notes, []) AS notes
FROM attempts AS a JOIN (SELECT rowid, * FROM lines WHERE code = {EVENTS.index("step_begun") + 1}) AS l
    ON l.rowid = a.line
LEFT JOIN interruptions AS i ON i.number = a.number LEFT JOIN noted AS n ON n.number = a.number
"""


def fill(
    connection: duckdb.DuckDBPyConnection,
    logs: Path,
    batch: Sequence[tuple[int, str]],
    hours: Hours | None = None,
) -> list[Fault]:
    """Read the logs (each with its place) and add them to `all_logs` and `all_steps`.

    The connection must run on one thread. Several batches may be filled at once.

    Returns:
        What could not be read.
    """
    faults: list[Fault] = []
    texts = parse(connection, read(logs, batch, faults), faults)
    if not texts:
        return faults
    found = events(connection, texts, faults)
    if len(found.row):
        for name, columns in _columns(fold(found, hours)).items():
            connection.register(name, columns)
        connection.execute(_OPENINGS)
        connection.execute(_ATTEMPTS)
    return faults


def _columns(found: Attempts) -> dict[str, dict[str, Any]]:
    """The tables that the statements join, as columns."""
    attempts = {"number": np.arange(len(found.row)), "line": found.row}
    for name in ("began_at", "attempt", "active_s", "interrupted_s", "gap", "outcome"):
        attempts[name] = getattr(found, name)
    of, line, seconds = found.stretch_of, found.stretch_row, found.stretch_s
    return {
        "attempts": attempts,
        "stretches": {"number": of, "line": line, "seconds": seconds, "nth": np.arange(len(of))},
        "said": {"number": found.note_of, "line": found.note_row},
    }
