"""The fields of a fastener as a file writes them: each a known word, or formed as its kind is."""

from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, PlainSerializer, WithJsonSchema

from companion.procedure.fasteners.heads import KNOWN_DRIVERS
from companion.procedure.fasteners.sequence import Layout
from companion.procedure.fasteners.sizes import Size
from companion.procedure.fasteners.threads import thread_as_written
from companion.procedure.vocabulary.data_files import table
from companion.procedure.vocabulary.known import formed, one_of

CLASSES = tuple(table("fasteners", "classes"))
MATERIALS = tuple(table("fasteners", "materials"))
MATERIALS_THAT_BEAR = tuple(name for name, row in table("fasteners", "materials").items() if row["bears"])
"""A bolt in these may be tightened like one in steel."""


def _thread(text: str) -> str:
    return thread_as_written(text).text


def _class(value: Any) -> Any:
    """YAML has 8.8 as a number."""
    return f"{value:g}" if isinstance(value, int | float) and not isinstance(value, bool) else value


def _layout(value: Any) -> Any:
    return Layout.parse(value) if isinstance(value, str) else value


ThreadName = Annotated[str, AfterValidator(formed(_thread))]
"""Such as "M8", "M12x1.5", "1/4-20 UNC", "G1/4"."""
ToolSize = Annotated[
    Size,
    BeforeValidator(formed(Size.parse)),
    PlainSerializer(lambda size: size.written),
    WithJsonSchema({"anyOf": [{"type": "number", "exclusiveMinimum": 0}, {"type": "string"}]}),
]
"""mm, or inches such as "7/16 in"."""
ClassName = Annotated[
    str,
    BeforeValidator(_class),
    AfterValidator(one_of(CLASSES)),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}], "examples": [*CLASSES]}),
]
"""A property class: 8.8, A2-70, grade 5."""
MaterialName = Annotated[str, AfterValidator(one_of(MATERIALS))]
Drive = Annotated[str, AfterValidator(one_of(sorted(KNOWN_DRIVERS)))]
"""Such as "PH2", "slot", "square 8"."""
Pattern = Annotated[
    Layout, BeforeValidator(formed(_layout)), PlainSerializer(str), WithJsonSchema({"type": "string"})
]
"""Such as "circle of 5" or "grid 2 by 5"."""
