"""Job logs read into DuckDB: one row for each line, of logs that are whole.

A log must keep the rules of the logbook, as far as step times depend on them. It is text in UTF-8, with an
event of schema 1 on every line. Events are numbered from 1, and the first is `job_opened`. A torn last line
was never acknowledged, so it alone is left out. A log with any other fault is left out whole. Either is a
`Fault`.
"""

import json
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import numpy as np

from companion.errors import LabourError
from companion.files import no_log
from companion.job.facts.log_form import SCHEMA
from companion.labour.table.attempts import EVENTS, OPENED, Events


@dataclass(frozen=True)
class Fault:
    """Why a log, or its last line, was left out."""

    log: str
    """The name of the file."""
    why: str
    torn: bool = False
    """Only the last line was left out."""

    def __str__(self) -> str:
        return f"{self.log}: {self.why}"


@dataclass
class Text:
    """The whole lines of a log."""

    place: int
    """The number of the log among those in the folder."""
    name: str
    lines: str
    """The last without its newline."""

    @property
    def opening(self) -> str:
        """The first line."""
        end = self.lines.find("\n")  # str.partition would copy all the others
        return self.lines if end < 0 else self.lines[:end]


LINE = """from_json(line, '{"seq": "INTEGER", "at": "VARCHAR", "mono": "DOUBLE", "event": "VARCHAR",
    "step": "VARCHAR", "act": "VARCHAR", "book_s": "DOUBLE", "work": "VARCHAR", "because": "VARCHAR",
    "away_s": "DOUBLE", "text": "VARCHAR", "note": "INTEGER"}')"""
"""What is taken from each line."""

PARSE = f"""
CREATE OR REPLACE TEMP TABLE lines AS
SELECT place, e.seq, TRY_CAST(e."at" AS TIMESTAMP) AS "at", e.mono,
    coalesce(list_position({list(EVENTS)!r}, e.event), 0) AS code, e.step, e.act, e.book_s, e.work,
    e.because, e.away_s, if(e.event = 'note_taken', e.text, NULL) AS text, e.note
FROM (
    SELECT place, {LINE} AS e
    FROM (SELECT place, unnest(string_split(lines, chr(10))) AS line FROM texts)
)
"""
"""It keeps the order of the lines when it runs on one thread. Two things are done for speed: a time is cast
rather than parsed by from_json, and a name is looked up in a list rather than cast to an enumeration."""

OF_JOB = ("job", "title", "revision", "mechanic", "vehicle")
"""What the first event tells of the whole job."""

OPENINGS = f"""
CREATE OR REPLACE TEMP TABLE openings AS
SELECT place, log, o.event, o.schema, {", ".join(f"coalesce(o.{name}, '') AS {name}" for name in OF_JOB)}
FROM (
    SELECT place, log, from_json(opening, '{{"event": "VARCHAR", "schema": "JSON",
        {", ".join(f'"{name}": "VARCHAR"' for name in OF_JOB)}}}') AS o
    FROM texts
)
"""

NOT_OPENED = f"""
SELECT place, CASE WHEN event IS DISTINCT FROM 'job_opened' THEN 'does not begin with job_opened'
    ELSE format('is of schema {{}}, and this companion reads {SCHEMA}', coalesce(schema::VARCHAR, 'None')) END
FROM openings WHERE event IS DISTINCT FROM 'job_opened' OR schema::VARCHAR IS DISTINCT FROM '{SCHEMA}'
"""

WITHOUT = "DELETE FROM openings WHERE place IN (SELECT unnest($places))"

NUMBERS = """
SELECT place, coalesce(seq, -1) AS seq, coalesce(code, 0) AS code, hash(step) AS step,
    coalesce(mono, 'nan') AS mono, coalesce(epoch_us("at") / 1e6, 'nan') AS wall,
    coalesce(away_s, 0) AS away, coalesce(note, -1) AS note
FROM lines
"""

INVALID = """
SELECT place, number, line
FROM (SELECT place, unnest(string_split(lines, chr(10))) AS line,
    unnest(range(1, len(string_split(lines, chr(10))) + 1)) AS number FROM texts)
WHERE NOT json_valid(line) ORDER BY place, number
"""


def read(logs: Path, names: Sequence[tuple[int, str]], faults: list[Fault]) -> list[Text]:
    """The text of the logs (each with its place), without torn last lines.

    What cannot be read is added to `faults`.
    """
    texts = []
    for place, name in names:
        try:
            content = _bytes(f"{logs}/{name}")
            whole, _, torn = content.rpartition(b"\n")
            if whole.strip():
                text = Text(place, name, whole.decode("utf-8"))
                if torn:
                    faults.append(_torn(text, 2 + text.lines.count("\n")))
                texts.append(text)
            elif content:  # A log of no bytes is of a job whose start failed: no fault, and no job.
                faults.append(Fault(name, "holds no whole line" if torn else "no event was logged"))
        except OSError as error:
            faults.append(Fault(name, f"cannot be read ({error.strerror})"))
        except UnicodeDecodeError as error:
            line = content.count(b"\n", 0, error.start) + 1
            faults.append(Fault(name, f"line {line} is not text"))
    return texts


def _bytes(path: str) -> bytes:
    """The content of a file. `Path.read_bytes` takes twice as long, which counts with many small files."""
    # A pipe without a writer would hold up whoever opens it otherwise.
    descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    try:
        status = os.fstat(descriptor)
        if why := no_log(status):
            raise OSError(0, why)
        return os.read(descriptor, status.st_size)
    finally:
        os.close(descriptor)


def _torn(text: Text, line: int) -> Fault:
    return Fault(text.name, f"its last line ({line}) is torn and was left out", torn=True)


def parse(connection: duckdb.DuckDBPyConnection, texts: list[Text], faults: list[Fault]) -> list[Text]:
    """Fill the table `lines` of the connection, which must run on one thread.

    Logs with a line that is not JSON are added to `faults`. The others are given back.
    """
    while texts:
        _register(connection, texts)
        try:
            connection.execute(PARSE)
            connection.execute(OPENINGS)
            return texts
        except duckdb.InvalidInputException:
            texts = _without_invalid(connection, texts, faults)
    return []


def _register(connection: duckdb.DuckDBPyConnection, texts: list[Text]) -> None:
    source = {
        "place": np.array([t.place for t in texts], np.int64),
        "log": np.array([t.name for t in texts], object),
        "lines": np.array([t.lines for t in texts], object),
        "opening": np.array([t.opening for t in texts], object),
    }
    connection.register("texts", source)


def _without_invalid(
    connection: duckdb.DuckDBPyConnection, texts: list[Text], faults: list[Fault]
) -> list[Text]:
    invalid: dict[int, list[tuple[int, str]]] = {}
    for place, number, line in connection.execute(INVALID).fetchall():
        invalid.setdefault(place, []).append((number, line))
    if not invalid:
        raise LabourError("the logs cannot be read; check them with 'companion jobs'")
    good = []
    for text in texts:
        if text.place not in invalid or _mended(text, invalid[text.place], faults):
            good.append(text)
    return good


def _mended(text: Text, invalid: list[tuple[int, str]], faults: list[Fault]) -> bool:
    """Mend what DuckDB does not take, and tell whether the log can then be used.

    Two things can be mended: a lone surrogate, which the logbook writes for what cannot be decoded, and a
    torn last line that has its newline.
    """
    lines = text.lines.split("\n")
    for number, line in invalid:
        try:
            lines[number - 1] = (
                json.dumps(json.loads(line), ensure_ascii=False).encode("utf-8", "replace").decode()
            )
        except (ValueError, RecursionError):
            already = any(f.torn and f.log == text.name for f in faults)
            if number < len(lines) or number == 1 or already:
                faults[:] = [f for f in faults if f.log != text.name]
                faults.append(Fault(text.name, f"line {number} is not JSON"))
                return False
            lines.pop()
            faults.append(_torn(text, number))
    text.lines = "\n".join(lines)
    return True


def events(connection: duckdb.DuckDBPyConnection, texts: list[Text], faults: list[Fault]) -> Events:
    """The events in `lines` that tell of steps.

    Logs that break a rule are added to `faults`, and taken out of `openings`.
    """
    found = connection.execute(NUMBERS).fetchnumpy()
    numbers: dict[str, Any] = {k: np.asarray(v) for k, v in found.items()}
    place = numbers["place"]
    first = np.flatnonzero(np.append(True, place[1:] != place[:-1]))
    length = np.diff(np.append(first, len(place)))
    expected = np.arange(len(place)) - np.repeat(first, length) + 1
    lost = (numbers["seq"] < 0) | np.isnan(numbers["mono"]) | np.isnan(numbers["wall"])
    opens = numbers["code"] == OPENED
    odd = lost | (numbers["seq"] != expected) | (opens != (expected == 1))
    use = ~(np.add.reduceat(odd, first) > 0) if len(first) else np.ones(0, bool)
    opened = dict(connection.execute(NOT_OPENED).fetchall())
    use &= ~np.isin(place[first], list(opened))
    for n in np.flatnonzero(~use):
        name, where = texts[n].name, slice(first[n], first[n] + length[n])
        why = opened.get(texts[n].place) or _first_fault(lost[where], numbers["seq"][where], opens[where])
        faults[:] = [f for f in faults if f.log != name]
        faults.append(Fault(name, why))
    if not use.all():
        connection.execute(WITHOUT, {"places": place[first][~use].tolist()})
    row = np.flatnonzero((numbers["code"] > 0) & np.repeat(use, length))
    part = {name: numbers[name][row] for name in ("seq", "code", "step", "mono", "wall", "away", "note")}
    return Events(row=row, log=place[row], **part)


def _first_fault(lost: Any, seq: Any, opens: Any) -> str:
    """What is wrong where a log first breaks a rule."""
    for number in range(1, len(seq) + 1):
        if lost[number - 1]:
            return f"line {number} is without number or times"
        if seq[number - 1] != number:
            return f"line {number} has event {seq[number - 1]}"
        if number > 1 and opens[number - 1]:
            return f"line {number} has a second job_opened"
    raise AssertionError("it has no fault")


def batches(
    present: Mapping[str, tuple[int, ...]], names: Sequence[str], most: int, readers: int
) -> Iterator[list[tuple[int, str]]]:
    """The named logs, each with its place, in batches of `most` bytes or fewer.

    Towards the end batches become smaller, so that all readers end at about the same time.
    """
    places = {name: place for place, name in enumerate(present)}
    left = sum(present[name][0] for name in names)
    batch: list[tuple[int, str]] = []
    filled = 0
    for name in names:
        batch.append((places[name], name))
        filled += present[name][0]
        if filled > min(most, max(left / (2 * readers), most / 8)):
            yield batch
            batch, left, filled = [], left - filled, 0
    if batch:
        yield batch
