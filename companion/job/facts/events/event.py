"""The root of all events."""

from datetime import MAXYEAR, datetime
from typing import Any

from pydantic import BaseModel, ConfigDict, field_validator

from companion.harmless import harmless

LONGEST = 100_000
"""Letters of any text in an event. CHOSEN: all that is open in the largest procedure is shorter."""


class Event(BaseModel):
    """The root of all events."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @field_validator("*")
    @classmethod
    def _harmless(cls, value: Any) -> Any:
        """What was typed, said or read from a log is shown later: no terminal may obey it."""
        return _words_harmless(value)


def _words_harmless(value: Any) -> Any:
    if isinstance(value, dict):
        return {harmless(key): _words_harmless(one) for key, one in value.items()}
    return harmless(sane(value)) if isinstance(value, str) else sane(value)


def sane(value: Any) -> Any:
    """The value; ValueError for a text that nobody said, or a moment without a day in some zone."""
    if isinstance(value, str) and len(value) > LONGEST:
        raise ValueError(f"a text of {len(value):,} letters is longer than any that is said")
    if isinstance(value, datetime) and not 1 < value.year < MAXYEAR:
        raise ValueError("this is no time that a clock tells")
    return value
