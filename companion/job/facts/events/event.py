"""The root of all events."""

from pydantic import BaseModel, ConfigDict


class Event(BaseModel):
    """The root of all events."""

    model_config = ConfigDict(frozen=True, extra="forbid")
