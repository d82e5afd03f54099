"""JSON Schema of a procedure's file, with a sentence for each field, so that editors complete and explain."""

from collections.abc import Iterator
from enum import Enum
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel

from companion.manual.field_sentences import about, sentence
from companion.procedure.model import Procedure, Step
from companion.procedure.short.shorthand import one_or_more
from companion.procedure.vocabulary.part import Word

Schema = dict[str, Any]
_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_WRITTEN: dict[str, Schema] = {
    "Torque": {
        "type": "string",
        "pattern": "N·m|Nm|newton",
        "examples": ["25 N·m"],
        "description": "A torque.",
    },
    "Angle": {"type": "string", "pattern": "°|deg", "examples": ["90°"], "description": "An angle further."},
}
_ON_A_LINE: Schema = {"type": "string", "minLength": 1, "description": "The same on one line."}
_FILLED_IN = ("id", "book")
"""Keys of a step that are made of its words and its act where a file leaves them out."""
_DURATION: Schema = {"type": "string", "pattern": r"^P|\d", "examples": ["4 min", "1 h 30 min", "PT90M"]}


def schema() -> Schema:
    """The whole schema."""
    made = Procedure.model_json_schema()
    kinds = {kind.__name__: kind for kind in every_kind()}
    definitions: Schema = made.pop("$defs")
    for name, definition in definitions.items():
        if name in kinds:
            _describe(definition, kinds[name])
    definitions |= {name: written for name, written in _WRITTEN.items() if name in definitions}
    for name, kind in kinds.items():
        if issubclass(kind, Word) and name in definitions:
            definitions[name] = _open_list(kind, definitions[name])
        elif name in definitions and getattr(kind, "line", None):
            definitions[name] = {"description": about(kind), "anyOf": [definitions[name], _ON_A_LINE]}
    _describe(made, Procedure)
    return {
        "$schema": _DIALECT,
        "title": "A procedure",
        **_as_written(made),
        "$defs": _as_written(definitions),
    }


def every_kind() -> Iterator[type[BaseModel] | type[Enum]]:
    """The procedure and all that it holds."""
    found: list[type[BaseModel] | type[Enum]] = [Procedure]
    for kind in found:
        yield kind
        if issubclass(kind, BaseModel):
            for hint in get_type_hints(kind).values():
                found += [part for part in _parts(hint) if part not in found]


def _parts(hint: Any) -> Iterator[type[BaseModel] | type[Enum]]:
    if isinstance(hint, type) and issubclass(hint, BaseModel | Enum):
        yield hint
    for inner in get_args(hint):
        yield from _parts(inner)


def _describe(definition: Schema, kind: type[BaseModel] | type[Enum]) -> None:
    """A sentence for the thing and for each field, or for each word to choose from."""
    definition["description"] = about(kind)
    if issubclass(kind, Enum):
        words = "; ".join(f"{word.value}: {sentence(kind, word.name)}" for word in kind)
        definition["description"] = f"{definition['description']} {words}"
        return
    for field, info in kind.model_fields.items():
        key = info.alias or field
        if field_schema := definition.get("properties", {}).get(key):
            if any(getattr(one, "func", None) is one_or_more for one in info.metadata):
                field_schema = {"anyOf": [field_schema, field_schema["items"]]}
                definition["properties"][key] = field_schema
            field_schema["description"] = sentence(kind, field)
    if kind is Step:
        definition["required"] = [key for key in definition["required"] if key not in _FILLED_IN]


def _open_list(kind: type[Word], own: Schema) -> Schema:
    """A known word, or one that the file declares."""
    told = "; ".join(f"{name}: {row.about}" for name, row in kind.known.items())
    known = {"type": "string", "enum": [*kind.known], "description": f"{about(kind)} {told}"}
    return {"description": about(kind), "anyOf": [known, own]}


def _as_written(node: Any) -> Any:
    """As a file has it: no empty values, times with their unit, nothing about Python."""
    if isinstance(node, list):
        return [_as_written(one) for one in node]
    if not isinstance(node, dict):
        return node
    if node.get("format") == "duration":
        return _DURATION | {key: node[key] for key in ("description",) if key in node}
    made = {key: _as_written(value) for key, value in node.items() if not _pythons_own(key, value)}
    if isinstance(made.get("anyOf"), list):
        rest = [one for one in made["anyOf"] if one != {"type": "null"}]
        if len(rest) == 1:
            made.pop("anyOf")
            made = rest[0] | made
        else:
            made["anyOf"] = rest
    return made


def _pythons_own(key: str, value: Any) -> bool:
    return (key == "default" and value in (None, [], {})) or (key == "title" and isinstance(value, str))
