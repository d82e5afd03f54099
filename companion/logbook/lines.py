"""A record as a line of text, and back."""

import json
from typing import Any

from companion.errors import LogbookError
from companion.job.facts.events import Record
from companion.job.facts.log_form import SCHEMA


def encode(record: Record) -> bytes:
    """The line, with its newline. ValueError for a value that JSON cannot carry (NaN, infinity)."""
    text = json.dumps(record.line(), ensure_ascii=False, allow_nan=False)
    # A lone surrogate (from an undecodable argument) becomes \udcxx, which JSON reads back as it was.
    return text.encode("utf-8", "backslashreplace") + b"\n"


def as_object(raw: bytes) -> dict[str, Any] | None:
    """The JSON object on a line; None when there is none."""
    try:
        data = json.loads(raw.decode("utf-8"))
    except (ValueError, RecursionError):
        return None
    return data if isinstance(data, dict) else None


def event_of(fields: dict[str, Any]) -> str:
    """The name of the event on a line that was not checked: in a damaged log anything may stand there."""
    return str(fields.get("event", ""))


def decode(fields: dict[str, Any], where: str) -> Record:
    """The record on a line, or a LogbookError that starts with `where` (file:line)."""
    schema = fields.get("schema")
    if isinstance(schema, int) and schema > SCHEMA:
        raise LogbookError(
            f"{where}: written by a newer companion (schema {schema}; this one reads {SCHEMA}): "
            "update the companion; nothing was changed"
        )
    try:
        return Record.from_line(fields)
    except (ValueError, KeyError, TypeError, OverflowError) as error:
        raise damage(where, f"not an event: {_first_fault(error)}") from error


def damage(where: str, why: str) -> LogbookError:
    """The error about a line that should be whole and is not."""
    return LogbookError(
        f"{where}: {why}; nothing was changed: put back a good copy of the file, "
        "or move it away and start a new job"
    )


def _first_fault(error: Exception) -> str:
    """The text on one line, however many it has."""
    from pydantic import ValidationError

    if isinstance(error, KeyError):
        return f"it has no {error.args[0]!r}"
    if isinstance(error, ValidationError):
        first = error.errors(include_url=False, include_input=False)[0]
        place = ".".join(str(part) for part in first["loc"])
        return f"{place}: {first['msg']}" if place else str(first["msg"])
    return str(error).splitlines()[0] if str(error) else type(error).__name__
