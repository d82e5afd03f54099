"""An event with its place in the log."""

from datetime import datetime, timedelta
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, field_validator

from companion.job.facts.events.deadlines import DeadlineEvent
from companion.job.facts.events.edges import EdgeEvent
from companion.job.facts.events.event import sane
from companion.job.facts.events.ledger import LedgerEvent
from companion.job.facts.events.session import SessionEvent
from companion.job.facts.events.steps import StepEvent
from companion.job.facts.events.talk import TalkEvent
from companion.job.facts.log_form import SCHEMA

AnyEvent = Annotated[
    SessionEvent | TalkEvent | StepEvent | LedgerEvent | DeadlineEvent | EdgeEvent,
    Field(discriminator="event"),
]
_adapter: TypeAdapter[Any] = TypeAdapter(AnyEvent)


class Record(BaseModel):
    """An event with its place in the log."""

    model_config = ConfigDict(frozen=True)

    seq: int
    """From 1, without gaps."""
    at: datetime
    """UTC."""
    mono: timedelta
    """The monotonic clock at that moment."""
    event: Annotated[Any, Field()]

    _sane = field_validator("at")(sane)

    def line(self) -> dict[str, Any]:
        """The log line as plain data."""
        return {
            "schema": SCHEMA,
            "seq": self.seq,
            "at": self.at.isoformat().replace("+00:00", "Z"),
            "mono": round(self.mono.total_seconds(), 6),
            **self.event.model_dump(mode="json"),
        }

    @classmethod
    def from_line(cls, data: dict[str, Any]) -> "Record":
        """The record of a log line (ValueError when it is not one)."""
        fields = dict(data)
        schema = fields.pop("schema", None)
        if schema != SCHEMA:
            raise ValueError(f"schema {schema!r} is not {SCHEMA}")
        return cls(
            seq=fields.pop("seq"),
            at=fields.pop("at"),
            mono=timedelta(seconds=fields.pop("mono")),
            event=_adapter.validate_python(fields),
        )
