"""The root of all events."""

from typing import Any

from pydantic import BaseModel, ConfigDict, field_validator

from companion.harmless import harmless


class Event(BaseModel):
    """The root of all events."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    @field_validator("*")
    @classmethod
    def _harmless(cls, value: Any) -> Any:
        """What was typed, said or read from a log is shown later: no terminal may obey it."""
        return harmless(value) if isinstance(value, str) else value
