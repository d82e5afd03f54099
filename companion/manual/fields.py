"""What a field of a procedure means: where it stands, how it is written, what it is for, an example."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from enum import Enum
from typing import Any

from pydantic import BaseModel

from companion.errors import ProcedureError
from companion.harmless import one_line
from companion.manual.field_sentences import sentence
from companion.manual.schema import Schema, every_kind, schema
from companion.procedure.model import Procedure
from companion.procedure.vocabulary.part import Word


@dataclass(frozen=True)
class Field:
    """One key of a file."""

    of: str
    """What it belongs to: "step", "fastener", "the whole file"."""
    name: str
    means: str
    written: str
    needed: bool
    left_out: str | None
    words: tuple[tuple[str, str], ...]
    """The words to choose from, each with its meaning."""
    inside: tuple[str, ...]
    """The keys of what stands there."""


def fields(name: str) -> tuple[Field, ...]:
    """Every field of that name; "fasteners.torque" or "fastener torque" only that of fasteners.

    Raises:
        ProcedureError: there is none; with what is near.
    """
    *of, wanted = name.lower().replace(".", " ").replace(":", " ").split() or [""]
    known = [*_all()]
    found = [one for one in known if one.name == wanted and all(_is_of(one, word) for word in of)]
    if not found:
        near = get_close_matches(wanted, sorted({one.name for one in known}), n=3)
        hint = f"; near are {', '.join(near)}" if near else "; companion explain all lists them"
        raise ProcedureError(one_line(f"no field of a procedure is called {name!r}{hint}"))
    return tuple(found)


def every_field() -> tuple[Field, ...]:
    """All fields, those of the whole file first."""
    return tuple(_all())


def page(field: Field, examples: Sequence[str] = ()) -> str:
    """What there is to tell, as lines."""
    needed = (
        "needed"
        if field.needed
        else "may be left out" + (f", then {field.left_out}" if field.left_out else "")
    )
    lines = [f"{field.name}, of {field.of}: {needed}", "", field.means, "", f"Written as: {field.written}"]
    lines += [f"  {word}: {meaning}" if meaning else f"  {word}" for word, meaning in field.words]
    lines += [f"Its keys: {', '.join(field.inside)}"] if field.inside else []
    lines += ["", "Such as:", *(f"  {one}" for one in examples)] if examples else []
    return "\n".join(lines)


def _is_of(field: Field, word: str) -> bool:
    return word.rstrip("s") in field.of or word in field.of


def _all() -> Iterator[Field]:
    whole = schema()
    definitions: Schema = whole["$defs"]
    kinds = {kind.__name__: kind for kind in every_kind()}
    for name, kind in kinds.items():
        if not issubclass(kind, BaseModel) or issubclass(kind, Word):
            continue
        definition = whole if kind is Procedure else _own(definitions[name])
        of = "the whole file" if kind is Procedure else _spaced(name)
        for field, info in kind.model_fields.items():
            key = info.alias or field
            node = definition["properties"][key]
            target = kinds.get(_target(node, definitions))
            yield Field(
                of,
                key,
                sentence(kind, field),
                _written(node, definitions),
                info.is_required(),
                str(node["default"]) if "default" in node else None,
                tuple(_words(target)),
                tuple(_keys(target)),
            )


def _keys(kind: Any) -> Iterator[str]:
    if isinstance(kind, type) and issubclass(kind, BaseModel) and not issubclass(kind, Word):
        yield from (info.alias or name for name, info in kind.model_fields.items())


def _words(kind: Any) -> Iterator[tuple[str, str]]:
    if isinstance(kind, type) and issubclass(kind, Enum):
        yield from ((word.value, sentence(kind, word.name)) for word in kind)
    elif isinstance(kind, type) and issubclass(kind, Word):
        yield from ((name, row.about) for name, row in kind.known.items())


def _target(node: Schema, definitions: Schema) -> str:
    """The definition that a field leads to, through lists and maps."""
    listed = node.get("anyOf", [{}])[0].get("items", {})
    for inner in (node, node.get("items", {}), node.get("additionalProperties") or {}, listed):
        if isinstance(inner, dict) and "$ref" in inner:
            return str(inner["$ref"]).rpartition("/")[2]
    return ""


def _written(node: Schema, definitions: Schema) -> str:
    if "$ref" in node:
        name = node["$ref"].rpartition("/")[2]
        definition = definitions[name]
        if "examples" in definition:
            return f"text such as {definition['examples'][0]!r}"
        if "enum" in definition or "enum" in definition.get("anyOf", [{}])[0]:
            return f"one word of {_spaced(name)}"
        return f"keys of {_spaced(name)}{', or the same on one line' if 'anyOf' in definition else ''}"
    if "anyOf" in node:
        told = dict.fromkeys(_written(one, definitions) for one in node["anyOf"])
        return " or ".join(one for one in told if f"a list: {one}" not in told)
    if node.get("type") == "array":
        return f"a list: {_written(node['items'], definitions)}"
    if node.get("type") == "object":
        inner = node.get("additionalProperties")
        return f"ids, each with {_written(inner, definitions)}" if isinstance(inner, dict) else "keys"
    if "examples" in node:
        return "text such as " + ", ".join(map(repr, node["examples"][:3]))
    if node.get("pattern", "").startswith("^[a-z0-9]"):
        return "an id: lower-case words joined by hyphens"
    plain = {"string": "text", "integer": "a whole number", "number": "a number", "boolean": "true or false"}
    return plain.get(node.get("type", ""), "text")


def _own(definition: Schema) -> Schema:
    """The form with keys, where one line will do as well."""
    own: Schema = definition["anyOf"][0] if "anyOf" in definition else definition
    return own


def _spaced(name: str) -> str:
    return "".join(f" {c.lower()}" if c.isupper() else c for c in name).strip()
