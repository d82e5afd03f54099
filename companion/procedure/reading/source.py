"""The YAML of a procedure as plain data that remembers the line and column of every key and value.

ruamel.yaml composes YAML 1.2, so that `1:30` and `no` stay text and `010` is ten. The nodes are turned
into data here and not by its constructors, so that every scalar keeps its place and no tag makes objects.
"""

import codecs
import re
from contextlib import suppress
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.composer import Composer
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from companion.harmless import harmless
from companion.procedure.fault import Fault, Path
from companion.procedure.rules import file as rules

KEY = "[key]"
"""The last part of a path that means a key itself and not its value; pydantic writes the same."""
DEEPEST = 12
"""Levels of nesting; a procedure has 6."""
MOST = 20_000
"""Words, lists and groups in a file. CHOSEN: 400 steps, the most there may be, have some 14,500."""
_TAG = "tag:yaml.org,2002:"
_DIRECTIVE = re.compile(r"(?:[ \t]*(?:#[^\n]*)?\n)*(%)")
_BLOCK = str.maketrans("", "", "\n\t")
_NOT_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


class _Counting(Composer):
    """Composes no more than `MOST`: each entry takes a tenth of a millisecond, and its faults another."""

    made = 0

    def compose_node(self, parent: Any, index: Any) -> Any:
        self.made += 1
        if self.made > MOST:
            raise _TooManyError
        return super().compose_node(parent, index)


class _TooManyError(YAMLError):
    pass


class SourceError(Exception):
    """The text is no YAML that can be used; line and column count from 1."""

    def __init__(self, line: int, column: int, message: str) -> None:
        super().__init__(message)
        self.line, self.column, self.message = line, column, message


@dataclass
class Source:
    """Plain data with the place of every part of it."""

    data: Any = None
    faults: list[Fault] = field(default_factory=list)
    """What is well-formed YAML but never right in a procedure, such as a key without a value."""
    places: dict[Path, tuple[int, int]] = field(default_factory=dict)

    def place(self, path: Path) -> tuple[int, int]:
        """Line and column, from 1, of the value at a path, or of the nearest thing around it."""
        while path not in self.places:
            path = path[:-1]
        return self.places[path]

    def label(self, path: Path) -> str:
        """A path in words: "step 'drain-oil', fasteners 2, torque"."""
        words: list[str] = []
        at: Any = self.data
        for key in path:
            if key == KEY:
                break
            at = at[key] if holds(at, key) else None
            if isinstance(key, str):
                words.append(key)
            elif words == ["steps"]:
                step_id = at.get("id") if isinstance(at, dict) else None
                words = [f"step '{step_id}'" if isinstance(step_id, str) else f"step {key + 1}"]
            else:
                words[-1:] = [f"{words[-1]} {key + 1}" if words else f"{key + 1}"]
        return ", ".join(words)


def holds(at: Any, key: str | int) -> bool:
    """Is there anything under that key or position of plain data?"""
    return (
        key in at if isinstance(at, dict) else isinstance(at, list) and isinstance(key, int) and key < len(at)
    )


def parse(content: bytes, *, a_list: bool = False) -> Source:
    """Read the bytes of a YAML file: a mapping, or `a_list`.

    Raises:
        SourceError: not UTF-8 text, or not one plain YAML document with that at the top.
    """
    text = _decode(content)
    if directive := _DIRECTIVE.match(text):
        line, column = _position(text, directive.start(1))
        raise SourceError(line, column, "directives such as %YAML are not used; take the line out")
    try:
        yaml = YAML(typ="safe", pure=True)
        yaml.Composer = _Counting
        yaml.composer.warn_double_anchors = False  # any anchor is refused below
        root = yaml.compose(text)
    except MarkedYAMLError as error:
        raise _reworded(error) from error
    except _TooManyError as error:
        raise SourceError(1, 1, f"has more than {MOST:,} entries; a procedure is far smaller") from error
    except RecursionError as error:
        raise SourceError(1, 1, f"is nested deeper than {DEEPEST} levels; a procedure never is") from error
    except (YAMLError, ValueError) as error:
        raise SourceError(
            1, 1, "is not usable YAML; write it as in the procedures that come along"
        ) from error
    if root is None:
        raise SourceError(1, 1, "is empty; a procedure has a title, steps and more")
    if not isinstance(root, SequenceNode if a_list else MappingNode):
        line, column = root.start_mark.line + 1, root.start_mark.column + 1
        if a_list:
            raise SourceError(line, column, "is no list; start each entry with '- '")
        raise SourceError(line, column, "is no procedure; start with lines like 'title: ...' and 'steps:'")
    source = Source()
    source.data = _plain(root, (), source)
    return source


def _decode(content: bytes) -> str:
    try:
        text = content.removeprefix(codecs.BOM_UTF8).decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line, column = _position(content[: error.start].decode("utf-8"), None)
        raise SourceError(line, column, "is not UTF-8 text; save the file as UTF-8") from error
    if strange := _NOT_TEXT.search(text):
        line, column = _position(text, strange.start())
        raise SourceError(line, column, "is not text but a binary file; name a .yaml file")
    return text


def _position(text: str, offset: int | None) -> tuple[int, int]:
    before = text[:offset]
    return before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1


def _reworded(error: MarkedYAMLError) -> SourceError:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    problem = error.problem or "it is malformed"
    if "\\t" in problem:
        advice = "indent with spaces, not tabs"
    elif "mapping values are not allowed" in problem:
        advice = "put text that contains ': ' in quotes, and check the indentation"
    elif "single document" in str(error.context) + problem:
        advice = "keep one procedure in a file and take the line '---' out"
    else:
        advice = "check indentation, quotes and brackets here and on the line above"
    return SourceError(line, column, f"is not valid YAML ({problem}); {advice}")


def _plain(node: Node, path: Path, source: Source) -> Any:
    line, column = node.start_mark.line + 1, node.start_mark.column + 1
    source.places.setdefault(path, (line, column))
    if node.anchor:
        raise SourceError(line, column, f"anchors and aliases (&{node.anchor}) are not used; write it out")
    if len(path) > DEEPEST:
        raise SourceError(line, column, f"is nested deeper than {DEEPEST} levels; a procedure never is")
    tag = str(node.tag)
    if not isinstance(node, ScalarNode) and tag not in (f"{_TAG}map", f"{_TAG}seq"):
        raise SourceError(line, column, f"tags ({tag.replace(_TAG, '!!')}) are not used; take it out")
    if isinstance(node, MappingNode):
        return _mapping(node, path, source)
    if isinstance(node, SequenceNode):
        return [_plain(child, (*path, position), source) for position, child in enumerate(node.value)]
    assert isinstance(node, ScalarNode)
    return _scalar(node, path, source)


def _mapping(node: MappingNode, path: Path, source: Source) -> dict[str, Any]:
    data: dict[str, Any] = {}
    for key_node, value_node in node.value:
        line, column = key_node.start_mark.line + 1, key_node.start_mark.column + 1
        if not isinstance(key_node, ScalarNode):
            raise SourceError(line, column, "a key must be a plain word; put text with { or [ in quotes")
        key = _shown(str(key_node.value), line, column)
        if key in data:
            again: Path = (*path, key, KEY, len(source.faults))
            source.places[again] = (line, column)
            source.faults.append(rules.GIVEN_TWICE.at(again, f"'{key}' is given twice here; keep one"))
            continue
        source.places[(*path, key, KEY)] = (line, column)
        if value_node.tag == f"{_TAG}null":
            source.places[(*path, key)] = (line, column)
            source.faults.append(
                rules.NO_VALUE.at((*path, key), "has no value; write one or take the line out")
            )
            data[key] = None
        else:
            data[key] = _plain(value_node, (*path, key), source)
    return data


def _scalar(node: ScalarNode, path: Path, source: Source) -> Any:
    text = _shown(str(node.value), *source.places[path])
    kind = str(node.tag)
    if not kind.startswith(_TAG):
        line, column = source.places[path]
        raise SourceError(line, column, f"tags ({kind}) are not used; take it out")
    match kind.removeprefix(_TAG):
        case "bool":
            return text.lower() == "true"
        case "int" | "float":
            return _number(text)
        case "null":
            source.faults.append(rules.NO_VALUE.at(path, "has no value; write one or take the line out"))
            return None
        case "str" | "timestamp" | "merge" | "value":
            return text
        case other:
            line, column = source.places[path]
            raise SourceError(line, column, f"tags (!!{other}) are not used; take it out")


def _shown(text: str, line: int, column: int) -> str:
    """The text. An escape such as "\\e" may have made characters that a terminal obeys and never shows."""
    plain = text.translate(_BLOCK)
    if harmless(plain) != plain:
        raise SourceError(line, column, "holds characters that cannot be shown; write plain text")
    return text


def _number(text: str) -> int | float | str:
    """Plain decimal numbers; other notations stay text and are then refused where a number is wanted."""
    for kind in (int, float):
        with suppress(ValueError):
            number = kind(text)
            return number if isfinite(number) else text
    return text
