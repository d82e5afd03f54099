"""pydantic's findings in the words of someone who writes a procedure."""

from collections.abc import Iterator, Mapping
from types import UnionType
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from companion.procedure.fault import Fault, Path, Rule, suggestion
from companion.procedure.model import Procedure
from companion.procedure.reading.source import KEY, holds
from companion.procedure.rules import file as rules

PATTERNS: Mapping[str, str] = {
    "id": "an id is lower-case words joined by hyphens, such as 'drain-oil'",
    "six_lobe": "write a six-lobe size like 'T30' or 'E10'",
}


def explain(error: ValidationError, data: Any) -> Iterator[Fault]:
    """One fault for each finding, at the place in the data that it is about."""
    for detail in error.errors(include_url=False):
        path = within(detail["loc"], data)
        yield Fault(*_reworded(detail, path))


def within(loc: tuple[int | str, ...], data: Any) -> Path:
    """The part of pydantic's location that is a path in the data; it adds names of union members."""
    path: list[str | int] = []
    at = data
    for key in loc:
        if holds(at, key):
            at = at[key]
        elif key != KEY:
            break
        path.append(key)
    return tuple(path)


def _reworded(detail: ErrorDetails, path: Path) -> tuple[Path, str, Rule]:
    value, context = detail["input"], detail.get("ctx", {})
    shown = _shown(value)
    match detail["type"]:
        case "missing":
            return path, f"`{detail['loc'][-1]}` is missing; add it", rules.MISSING_KEY
        case "extra_forbidden":
            key = str(detail["loc"][-1])
            known = fields_at(path[:-1])
            hint = suggestion(key, known) or f"; known are {', '.join(known)}"
            return (*path, KEY), f"unknown key{hint}", rules.UNKNOWN_KEY
        case "value_error":
            return path, str(context["error"]), rules.NOT_A_QUANTITY
        case "wrong_form":
            return path, str(context["error"]), rules.WRONG_FORM
        case "string_type":
            return path, _not_text(value, shown), rules.NOT_TEXT
        case "string_too_short":
            return path, "is empty; write the text", rules.EMPTY
        case "string_too_long":
            return (
                path,
                f"is longer than {context['max_length']} characters; shorten it or use `more`",
                rules.TOO_LONG,
            )
        case "string_pattern_mismatch":
            field = "id" if path[-1:] == (KEY,) else str(_last_name(path))
            return path, f"{shown} is not usable; {PATTERNS.get(field, PATTERNS['id'])}", rules.WRONG_FORM
        case "enum":
            allowed = words_of(detail)
            hint = suggestion(str(value), allowed) or f"; write one of {', '.join(allowed)}"
            return path, f"{shown} is not known here{hint}", rules.UNKNOWN_WORD
        case "int_type" | "int_parsing" | "int_parsing_size" | "int_from_float":
            return (
                path,
                f"{shown} is not a whole number; write one without a unit, such as 6",
                rules.NOT_A_NUMBER,
            )
        case "float_type" | "float_parsing" | "finite_number":
            return path, f"{shown} is not a number; write one without a unit, such as 0.5", rules.NOT_A_NUMBER
        case "bool_type" | "bool_parsing":
            return path, f"{shown} is neither true nor false; write one of these", rules.NOT_A_NUMBER
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal":
            return path, f"{shown} is out of range; {_limit(context)}", rules.OUT_OF_RANGE
        case "too_short":
            return path, "is empty; it needs at least one entry", rules.EMPTY
        case "too_long":
            return path, f"has too many entries; at most {context['max_length']}", rules.TOO_LONG
        case "tuple_type" | "list_type":
            return path, f"{shown} is no list; write it as '- ...' lines or in [ ]", rules.WRONG_SHAPE
        case "dict_type" | "model_type":
            return path, f"{shown} is no group of keys; write 'key: value' lines under it", rules.WRONG_SHAPE
        case _:
            return (
                path,
                f"{shown} is not usable here; write it as in the procedures that come along",
                rules.WRONG_SHAPE,
            )


def words_of(detail: ErrorDetails) -> list[str]:
    """The words that may be written, taken from a finding that another one was."""
    expected = str(detail.get("ctx", {}).get("expected", ""))
    return [word.strip(" '") for word in expected.replace(" or ", ", ").split(",")]


def _not_text(value: Any, shown: str) -> str:
    if isinstance(value, bool | int | float):
        kind = "true or false" if isinstance(value, bool) else "a number"
        return f"{shown} is {kind} where text is wanted; put it in quotes: '{shown}'"
    return f"{shown} is not text; write words, in quotes if they contain ': '"


def _limit(context: Mapping[str, Any]) -> str:
    words = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
    return next(f"write {word} {context[key]:g}" for key, word in words.items() if key in context)


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a group of keys"
    if isinstance(value, list):
        return "a list"
    if value is None:
        return "nothing"
    text = str(value)
    return f"'{text[:40]}{'…' if len(text) > 40 else ''}'" if isinstance(value, str) else text[:40]


def _last_name(path: Path) -> str | int:
    return next((key for key in reversed(path) if isinstance(key, str)), "")


def fields_at(path: Path, *, needed: bool = False) -> list[str]:
    """The keys that the model knows at a path, or only those that must be there."""
    model: type[BaseModel] = Procedure
    annotation: Any = Procedure
    for key in path:
        if isinstance(key, str) and _is_model(annotation) and key in model.model_fields:
            annotation = model.model_fields[key].annotation
            annotation = _inner(annotation)
        if _is_model(annotation):
            model = annotation
    return [
        field.alias or name for name, field in model.model_fields.items() if field.is_required() or not needed
    ]


def _is_model(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def _inner(annotation: Any) -> Any:
    """The model inside `tuple[Step, ...]`, `dict[Id, Part]` or `Cure | None`, else the annotation itself."""
    if get_origin(annotation) in (tuple, dict, Union, UnionType):
        return next((inner for arg in get_args(annotation) if _is_model(inner := _inner(arg))), annotation)
    return annotation
