"""The root of all events."""

from datetime import MAXYEAR, datetime
from typing import Any

from pydantic import BaseModel, ConfigDict, field_validator

from companion.harmless import harmless


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
    return harmless(value) if isinstance(value, str) else sane(value)


def sane(value: Any) -> Any:
    """The value; ValueError for a moment that has no day in every zone of the earth."""
    if isinstance(value, datetime) and not 1 < value.year < MAXYEAR:
        raise ValueError("this is no time that a clock tells")
    return value
