"""What `logs/README.md` takes from the events, the exports and the demo logs."""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from types import ModuleType, NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from companion.job.facts.commands import Command
from companion.job.facts.deadlines import Kind
from companion.job.facts.events import Event, deadlines, edges, ledger, session, steps, talk
from companion.job.facts.log_form import SCHEMA
from companion.job.facts.said import questions
from companion.labour.model import kept
from companion.labour.table import collect
from companion.procedure.model import Act
from tests.written.exports import EXPORTS, QUOTE_CSV, Export
from tests.written.sentences import about, sentence, table

DEMO = Path(__file__).parents[2] / "logs/demo/2031-02-09-sump-reseal-1.jsonl"
SHOWN = ("job_opened", "step_begun", "heard", "step_done")
"""Kinds of event of which a line is shown."""
TOPICS = (session, steps, ledger, deadlines, talk, edges)
OFTEN = {
    "step": "The step, by its id.",
    "seal": "The seal, by its id.",
    "energy": "The energy source, by its id.",
    "part": "The part, by its id.",
    "deadline": "The deadline, by its id within the job.",
    "note": "Its number.",
}
"""Fields that mean the same in every event."""
QUESTIONS = [k.name for k in vars(questions).values() if getattr(k, "__module__", "") == questions.__name__]
WORDS = (("command", Command), ("question", QUESTIONS), ("kind", Kind), ("act", Act))
"""Fields that choose from a list of words."""
_TYPES = {str: "text", int: "whole number", float: "number", bool: "true or false", dict: "texts"}


def topics() -> dict[ModuleType, list[type[Event]]]:
    """The kinds of event that each module of events holds."""
    return {
        module: [
            kind
            for kind in vars(module).values()
            if isinstance(kind, type) and issubclass(kind, Event) and kind.__module__ == module.__name__
        ]
        for module in TOPICS
    }


def fields_of(kind: type[Event]) -> dict[str, str]:
    """The fields of a kind of event and what each means; empty when nobody says."""
    own = [field for field in kind.model_fields if field != "event"]
    return {field: sentence(kind, field) or OFTEN.get(field, "") for field in own}


def events(_: str) -> str:
    """A table for each topic."""
    lines: list[str] = []
    for module, kinds in topics().items():
        rows = [(f"`{_name(kind)}`", about(kind), _fields(kind)) for kind in kinds]
        lines += [f"### {module.__name__.rpartition('.')[2].capitalize()}", "", about_module(module), ""]
        lines += [*table(("event", "what happened", "fields"), rows), ""]
    chosen = [(f"`{field}`", ", ".join(f"`{word}`" for word in words)) for field, words in WORDS]
    return "\n".join([*lines, "### Words that a field chooses from", "", *table(("field", "words"), chosen)])


def about_module(module: ModuleType) -> str:
    """The first line of its docstring."""
    return (module.__doc__ or "").strip().splitlines()[0]


def _name(kind: type[Event]) -> str:
    return str(kind.model_fields["event"].default)


def _fields(kind: type[Event]) -> str:
    hints = get_type_hints(kind)
    return "<br>".join(
        f"`{field}` ({_typed(hints[field])}): {words}" for field, words in fields_of(kind).items()
    )


def _typed(hint: Any) -> str:
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        [wanted] = [arg for arg in args if arg is not NoneType]
        return f"{_typed(wanted)}, or null"
    if origin is Literal:
        return " or ".join(map(str, args))
    return _TYPES.get(origin or hint, "time" if getattr(hint, "__name__", "") == "datetime" else "text")


def lines(_: str) -> str:
    """A line of each kind that is shown."""
    written = DEMO.read_text("utf-8").splitlines()
    shown = [next(line for line in written if f'"event": "{kind}"' in line) for kind in SHOWN]
    return "\n".join(["```json", *shown, "```"])


def versions(_: str) -> str:
    """The versions of what is written."""
    rows = (
        ("a job's log", "`schema` in every line", str(SCHEMA)),
        ("the step table", "in the file's name", str(collect.VERSION)),
        ("a fit of step times", "in the file's name", str(kept.SCHEMA)),
    )
    return "\n".join(table(("what", "where it says so", "version"), rows))


def exports(_: str) -> str:
    """A table for each export."""
    made: list[str] = []
    for export in (*EXPORTS, QUOTE_CSV):
        made += [f"### `companion {export.command}`", "", f"Each is {export.each}.", ""]
        made += [*table(_heads(export), [(f"`{key}`", words) for key, words in export.keys.items()]), ""]
    return "\n".join(made)


def _heads(export: Export) -> tuple[str, str]:
    return ("column" if re.search("--csv", export.command) else "key", "what it means")


BLOCKS: Mapping[str, Callable[[str], str]] = {
    "lines": lines,
    "events": events,
    "versions": versions,
    "exports": exports,
}
