"""What `procedures/README.md` takes from the model, the checks and the shipped procedures."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from enum import Enum
from functools import cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel
from pydantic_core import PydanticUndefined
from ruamel.yaml import YAML

from companion.job.facts.state import State
from companion.job.rules.ledger import open_things
from companion.procedure.energy_words import energy_words
from companion.procedure.fasteners.fields import (
    CLASSES,
    MATERIALS,
    ClassName,
    Drive,
    MaterialName,
    Pattern,
    ThreadName,
    ToolSize,
)
from companion.procedure.fasteners.heads import KNOWN_DRIVERS
from companion.procedure.model import Energy, EnergySource, ItemKind, Procedure, Step
from companion.procedure.reading.explain import PATTERNS
from companion.procedure.things import Duration, Id, Stage, TorqueValue, UnitName
from companion.procedure.unit_table import MEASURED
from companion.procedure.vocabulary.energies import Clauses
from companion.procedure.vocabulary.part import Text, Word
from tests.written.sentences import about, sentence, table

FOLDER = Path(__file__).parents[2] / "procedures"
LONGEST_EXAMPLE = 90
"""Characters; a longer value is no example."""
WORDS: tuple[tuple[Any, str], ...] = (
    (Text, "words"),
    (Id, "id"),
    (Duration, "time"),
    (TorqueValue, "torque"),
    (Stage, "torque or angle"),
    (Clauses, "those of another: `disconnected`, `switched`, `let off`, `secured`, ..."),
    (UnitName, "[unit](#unit)"),
    (ThreadName, "thread"),
    (ToolSize, "mm, or inches such as `7/16 in`"),
    (ClassName, "[class](#class)"),
    (MaterialName, "[material](#material)"),
    (Drive, "[driver](#driver)"),
    (Pattern, "`circle of` or `grid ... by ...`"),
    (bool, "`true` or `false`"),
    (int, "whole number"),
    (float, "number"),
)
MANY = {"id": "ids", "torque or angle": "torques and angles"}
_LIMITS = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}


def models() -> list[type[BaseModel]]:
    """The procedure and all that it holds, what a step holds before the rest."""
    found: list[type[BaseModel]] = [Procedure, Step]
    found += [part for hint in _hints(Step).values() for part in _parts(hint) if issubclass(part, BaseModel)]
    for model in found:
        for hint in _hints(model).values():
            found += [part for part in _parts(hint) if issubclass(part, BaseModel) and part not in found]
    return found


def open_lists() -> list[type[Word]]:
    """The lists of words that a file may add to."""
    return [model for model in models() if issubclass(model, Word)]


def enums() -> list[type[Enum]]:
    """The lists of words that a field chooses from."""
    parts = [part for model in models() for hint in _hints(model).values() for part in _parts(hint)]
    return [part for part in dict.fromkeys(parts) if issubclass(part, Enum)]


def _hints(model: type[BaseModel]) -> dict[str, Any]:
    """Each field by its key in the file."""
    hints = get_type_hints(model, include_extras=True)
    return {info.alias or field: hints[field] for field, info in model.model_fields.items()}


def keys(model: type[BaseModel]) -> list[str]:
    """What its fields are called in the file."""
    return [*_hints(model)]


def _parts(hint: Any) -> Iterator[type]:
    """The models and enums inside an annotation."""
    if isinstance(hint, type) and issubclass(hint, BaseModel | Enum):
        yield hint
    for inner in get_args(hint):
        yield from _parts(inner)


def _title(of: type) -> str:
    """The keys under which it stands: "hazards, cautions"."""
    keys = [f for m in models() for f, hint in _hints(m).items() if of in _parts(hint)]
    return ", ".join(dict.fromkeys(keys)) or "The whole file"


def _link(of: type, field: str) -> str:
    anchor = re.sub(r"[^a-z_ -]", "", _title(of).lower()).replace(" ", "-")
    return f"[{field}](#{anchor})"


def written(hint: Any, field: str) -> str:
    """What is written for a field, in words."""
    for known, words in WORDS:
        if hint == known:
            return words
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        [wanted] = [arg for arg in args if arg is not NoneType]
        return written(wanted, field)
    if origin is tuple:
        one = written(args[0], field)
        return f"list of {MANY.get(one, one)}"
    if origin is dict:
        return f"{'ids' if args[0] == Id else 'units'}, each with {written(args[1], field)}"
    if origin is Annotated:
        return _limited(args[0], args[1:], field)
    link = _link(hint, field)
    return f"one of {link}" if issubclass(hint, Enum | Word) else link


def _limited(base: Any, info: tuple[Any, ...], field: str) -> str:
    limits = [limit for one in info for limit in getattr(one, "metadata", ())]
    if any(getattr(limit, "pattern", None) for limit in limits):
        return PATTERNS[field].removeprefix("write ")
    ends = [
        f"{word} {getattr(limit, name):g}"
        for limit in limits
        for name, word in _LIMITS.items()
        if hasattr(limit, name)
    ]
    return f"{written(base, field)}{', ' if ends else ''}{' and '.join(ends)}"


def fields(page: str) -> str:
    """A table for each kind of thing."""
    found = examples(page)
    lines: list[str] = []
    for model in models():
        rows = []
        for name, info in model.model_fields.items():
            field = info.alias or name
            kind = written(_hints(model)[field], field)
            if info.default and info.default is not PydanticUndefined:
                default = info.default.value if isinstance(info.default, Enum) else info.default
                kind += f"; left out, `{default}`"
            key = f"**`{field}`**" if info.is_required() else f"`{field}`"
            example = found.get((model, field), "")
            rows.append((key, kind, f"`{example}`" if example else "", sentence(model, name)))
        own = ", declared by the file" if issubclass(model, Word) else ""
        lines += [f"### {_title(model)}{own}", "", about(model), ""]
        lines += [*table(("key", "what is written", "example", "what it means"), rows), ""]
    return "\n".join(lines)


def words(_: str) -> str:
    """A table for each list of words."""
    lines: list[str] = []
    for enum in enums():
        rows = [(f"`{member.value}`", sentence(enum, member.name)) for member in enum]
        lines += [f"### {_title(enum)}", "", about(enum), "", *table(("word", "what it means"), rows), ""]
    for words in open_lists():
        more, said = TOLD[words]
        rows = [(f"`{word}`", word.about, *said(word)) for word in words.known.values()]
        lines += [f"### {_title(words)}", "", about(words), ""]
        lines += [*table(("word", "what it means", *more), rows), ""]
    for key, known in NAMES.items():
        lines += [f"### {key}", "", ", ".join(f"`{name}`" for name in known) + ".", ""]
    return "\n".join(lines)


def _of_item(kind: ItemKind) -> tuple[str, ...]:
    """What the ledger says of an open item of this kind."""
    item = {"name": str(kind), "kind": kind}
    steps = [
        {"id": "a", "act": "remove", "say": "Open.", "book": "1 min", "opens": ["x"]},
        {"id": "b", "act": "fit", "say": "Close.", "book": "1 min", "closes": ["x"]},
    ]
    about = {"title": "t", "revision": "1", "applies_to": ["v"], "source_of_torques": "s"}
    procedure = Procedure.from_data({**about, "items": {"x": item}, "steps": steps})
    return tuple(thing.text for thing in open_things(State(procedure, open_items={"x": "a"})))


def _of_energy(source: EnergySource) -> tuple[str, ...]:
    """What is said of a source that is isolated, of one that is proved, and what proves it."""
    said = energy_words(Energy(name=_NAMES.get(str(source), f"the {source}"), source=source))
    readings = [f"at most {most:g} {unit}" for unit, most in source.readings.items()]
    return said.isolated, said.proved, " or ".join(readings if source.deadly else [*readings, "words"])


_NAMES = {
    "hydraulic": "the brake pressure",
    "hot fluid": "the hot oil",
    "vehicle support": "the vehicle on its stands",
}
TOLD: Mapping[type[Word], tuple[tuple[str, ...], Callable[[Any], tuple[str, ...]]]] = {
    ItemKind: (("said while open",), _of_item),
    EnergySource: (("said when isolated", "said when proved", "proved by"), _of_energy),
}
"""What the companion says of each, beside what it means."""
NAMES: Mapping[str, Sequence[str]] = {
    "unit": [*MEASURED],
    "class": CLASSES,
    "material": MATERIALS,
    "driver": sorted(KNOWN_DRIVERS),
}
"""Words that mean what they say."""


def yaml_in(page: str) -> list[str]:
    """The YAML of a page: whole procedures."""
    return re.findall(r"^```yaml\n(.*?)^```", page, re.DOTALL | re.MULTILINE)


@cache
def examples(page: str) -> Mapping[tuple[type, str], str]:
    """(model, field) -> the shortest value that the shipped procedures, or this page, have there."""
    texts = [*(path.read_text("utf-8") for path in sorted(FOLDER.glob("*.yaml"))), *yaml_in(page)]
    found: dict[tuple[type, str], str] = {}
    for text in texts:
        for key, value in _values(Procedure, YAML(typ="safe").load(text)):
            line = f"{key[1]}: {_flow(value)}"
            if len(line) <= LONGEST_EXAMPLE and ", }" not in line:
                found[key] = min(found.get(key, line), line, key=len)
    for words in open_lists():
        for word in words.known.values():
            for field, value in dict(word).items():
                found.setdefault((words, field), f"{field}: {_flow(value)}")
    return found


def _values(model: type[BaseModel], data: Any) -> Iterator[tuple[tuple[type, str], Any]]:
    for field, value in data.items():
        yield (model, field), value
        for part in _parts(_hints(model)[field]):
            if issubclass(part, BaseModel):
                for one in value if isinstance(value, list) else _held(model, field, value):
                    if isinstance(one, dict):
                        yield from _values(part, one)


def _held(model: type[BaseModel], field: str, value: Any) -> list[Any]:
    """The parts of a value that is one part, or has them under ids."""
    return [*value.values()] if get_origin(_hints(model)[field]) is dict else [value]


def _flow(value: Any) -> str:
    """A value as YAML on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_flow, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    text = str(value)
    return text if not isinstance(value, str) or _plain(text) else f'"{text}"'


@cache
def _plain(text: str) -> bool:
    """Whether words need no quotes within brackets."""
    return not re.search(r"[,:\[{}\]]", text) and YAML(typ="safe").load(text) == text


BLOCKS = {"fields": fields, "words": words}
