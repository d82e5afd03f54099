"""What `procedures/README.md` takes from the model, the checks and the shipped procedures."""

import re
import tempfile
from collections.abc import Callable, Iterator, Mapping
from enum import Enum
from functools import cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel
from pydantic_core import PydanticUndefined
from ruamel.yaml import YAML

from companion.errors import ProcedureError
from companion.job.facts.state import State
from companion.job.rules.ledger import open_things
from companion.procedure.energies import energy_words
from companion.procedure.fasteners.fields import ClassName, Drive, MaterialName, Pattern, ThreadName, ToolSize
from companion.procedure.model import Energy, EnergySource, ItemKind, Procedure, Step
from companion.procedure.read import read_procedure
from companion.procedure.reading.explain import PATTERNS
from companion.procedure.things import Duration, Id, Stage, TorqueValue
from companion.procedure.vocabulary.part import Text
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
    (ThreadName, "thread"),
    (ToolSize, "mm, or inches such as `7/16 in`"),
    (ClassName, "property class"),
    (MaterialName, "material"),
    (Drive, "driver"),
    (Pattern, "`circle of` or `grid ... by ...`"),
    (bool, "`true` or `false`"),
    (int, "whole number"),
    (float, "number"),
)
MANY = {"id": "ids", "torque or angle": "torques and angles"}
_LIMITS = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}

SLIPS: tuple[tuple[str, str, str], ...] = (
    ("a key is misspelt", "where: front left", "were: front left"),
    ("a time has no unit", "book: 2 min, opens", "book: 2, opens"),
    ("an id is misspelt", "opens: [lid]", "opens: [lit]"),
    ("a thing is never closed", ", closes: [lid]", ""),
    ("a thing is declared and never used", "items:\n", "items:\n  hose: {name: breather hose, kind: hose}\n"),
    ("a number where words are wanted", 'revision: "1"', "revision: 1"),
    ("words with a colon and no quotes", "say: Wipe the box", "say: Now: wipe the box"),
    ("a tightening step without a torque", "act: clean", "act: tighten"),
    ("a danger without words to confirm it", "act: clean, say",
     "act: clean, hazards: [{signal: DANGER, hazard: The fan may start., avoid: Take the key out.}], say"),
    ("a state of one word", "act: clean, say", "act: clean, state: clean, say"),
    ("an order that says less than it seems", "closes: [lid]", "closes: [lid], after: []"),
)  # fmt: skip
"""Name of a usual mistake, and what it makes of the first example."""


def models() -> list[type[BaseModel]]:
    """The procedure and all that it holds, what a step holds before the rest."""
    found: list[type[BaseModel]] = [Procedure, Step]
    found += [part for hint in _hints(Step).values() for part in _parts(hint) if issubclass(part, BaseModel)]
    for model in found:
        for hint in _hints(model).values():
            found += [part for part in _parts(hint) if issubclass(part, BaseModel) and part not in found]
    return found


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
        return f"ids, each with {written(args[1], field)}"
    if origin is Annotated:
        return _limited(args[0], args[1:], field)
    link = _link(hint, field)
    return f"one of {link}" if issubclass(hint, Enum) else link


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
        lines += [f"### {_title(model)}", "", about(model), ""]
        lines += [*table(("key", "what is written", "example", "what it means"), rows), ""]
    return "\n".join(lines)


def words(_: str) -> str:
    """A table for each list of words."""
    lines: list[str] = []
    for enum in enums():
        more, said = TOLD.get(enum, ((), lambda _: ()))
        rows = [(f"`{member.value}`", sentence(enum, member.name), *said(member.value)) for member in enum]
        heads = ("word", "what it means", *more)
        lines += [f"### {_title(enum)}", "", about(enum), "", *table(heads, rows), ""]
    return "\n".join(lines)


def _of_item(kind: str) -> tuple[str, ...]:
    """What the ledger says of an open item of this kind."""
    item = {"name": kind, "kind": kind}
    steps = [
        {"id": "a", "act": "remove", "say": "Open.", "book": "1 min", "opens": ["x"]},
        {"id": "b", "act": "fit", "say": "Close.", "book": "1 min", "closes": ["x"]},
    ]
    about = {"title": "t", "revision": "1", "applies_to": ["v"], "source_of_torques": "s"}
    procedure = Procedure.from_data({**about, "items": {"x": item}, "steps": steps})
    return tuple(thing.text for thing in open_things(State(procedure, open_items={"x": "a"})))


def _of_energy(source: str) -> tuple[str, ...]:
    """What is said of a source that is isolated and not proved, and of one that is proved."""
    said = energy_words(Energy(name=_NAMES.get(source, f"the {source}"), source=EnergySource(source)))
    return said.isolated, said.proved


_NAMES = {
    "hydraulic": "the brake pressure",
    "hot fluid": "the hot oil",
    "vehicle support": "the vehicle on its stands",
}
TOLD: Mapping[type[Enum], tuple[tuple[str, ...], Callable[[str], tuple[str, ...]]]] = {
    ItemKind: (("said while open",), _of_item),
    EnergySource: (("said when isolated", "said when proved"), _of_energy),
}
"""What the companion says of each, beside what it means."""


def slips(page: str) -> str:
    """What `companion check` says of each slip in the first example."""
    good, *_ = yaml_in(page)
    rows = []
    for name, before, after in SLIPS:
        assert good.count(before) == 1, f"{before!r} is not once in the first example"
        rows.append((name, said_of(good.replace(before, after))))
    return "\n".join(table(("slip", "what `companion check` says, after file, line and column"), rows))


def said_of(text: str) -> str:
    """The first fault of a procedure, without its place."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "spoilt.yaml"
        path.write_text(text, "utf-8")
        try:
            read_procedure(path)
        except ProcedureError as error:
            return error.faults[0].removeprefix(f"{path}:").split(": ", 1)[1]
    return "no fault"


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
    return found


def _values(model: type[BaseModel], data: Any) -> Iterator[tuple[tuple[type, str], Any]]:
    for field, value in data.items():
        yield (model, field), value
        for part in _parts(_hints(model)[field]):
            if issubclass(part, BaseModel):
                for one in value if isinstance(value, list) else _held(model, field, value):
                    yield from _values(part, one)


def _held(model: type[BaseModel], field: str, value: Any) -> list[Any]:
    """The parts of a value that is one part, or has them under ids."""
    return [*value.values()] if get_origin(_hints(model)[field]) is dict else [value]


def _flow(value: Any) -> str:
    """A value as YAML on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    text = str(value)
    return text if not isinstance(value, str) or _plain(text) else f'"{text}"'


@cache
def _plain(text: str) -> bool:
    """Whether words need no quotes within brackets."""
    return not re.search(r"[,:\[{}\]]", text) and YAML(typ="safe").load(text) == text


BLOCKS = {"fields": fields, "words": words, "slips": slips}
