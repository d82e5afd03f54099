"""What every noun of a procedure is made of, and words that come from an open list or are a file's own."""

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    model_serializer,
    model_validator,
)
from pydantic_core import PydanticKnownError

LONGEST = 600
"""Characters of a text; also of a noun written on one line."""
Text = Annotated[str, Field(min_length=1, max_length=LONGEST)]


class Part(BaseModel):
    """Every noun of a procedure forbids unknown keys, so that a typing mistake is an error."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        arbitrary_types_allowed=True,
        allow_inf_nan=False,
        str_strip_whitespace=True,
        populate_by_name=True,
    )
    line: ClassVar[Any] = None
    """What reads it from one line, where it can be written so."""

    @model_validator(mode="before")
    @classmethod
    def _from_line(cls, data: Any) -> Any:
        if not cls.line or not isinstance(data, str):
            return data
        if len(data) > LONGEST:
            raise PydanticKnownError("string_too_long", {"max_length": LONGEST})
        return cls.line(data)


class Word(Part):
    """A word of an open list, with what it implies. A file names a known one, or declares its own."""

    known: ClassVar[dict[str, Any]]
    """The rows of the data file, by name. Each kind of word has its own."""

    called: Text
    """What it is called."""

    @classmethod
    def rows(cls, rows: Mapping[str, Any], **unless_said: Any) -> None:
        """Take the rows of a data file; what a row does not say is as given, not as for a file's own."""
        cls.known = {
            name: cls.model_validate({"called": name, **unless_said, **row}) for name, row in rows.items()
        }

    @model_validator(mode="wrap")
    @classmethod
    def _known(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        """The row of that name; the rows themselves and what a file declares are read as they are."""
        if not isinstance(data, str):
            return handler(data)
        if data not in cls.known:
            words = ", ".join(f"'{name}'" for name in cls.known)
            raise PydanticKnownError("enum", {"expected": words})
        row: Self = cls.known[data]
        return row

    @model_serializer(mode="wrap")
    def _by_name(self, handler: Any) -> Any:
        return self.called if self.known.get(self.called) is self else handler(self)

    def __hash__(self) -> int:
        return hash(self.called)

    def __str__(self) -> str:
        return self.called
