"""A procedure's data as a YAML file that a person goes on with: short things on one line."""

import io
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

_WIDTH = 110
_HEAD = """\
# Drafted by companion draft from an outline. Book times are guesses until the first job has been logged.
# What is not known is marked `review`: answer it with companion draft --answer, or write the value and take
# the mark out. Then read every step beside the manual: the outline may be wrong, and so may the draft.

"""


def as_yaml(data: dict[str, Any]) -> str:
    """The file."""
    yaml = YAML()
    yaml.width = 10_000
    yaml.indent(mapping=2, sequence=4, offset=2)
    yaml.allow_unicode = True
    out = io.StringIO()
    yaml.dump(_block(data), out)
    return _HEAD + _spaced(out.getvalue())


def _block(value: Any, depth: int = 0) -> Any:
    if isinstance(value, dict):
        made = CommentedMap({key: _block(one, depth + 1) for key, one in value.items()})
        if depth > 1 and _short(value):
            made.fa.set_flow_style()
        return made
    if isinstance(value, list):
        made_list = CommentedSeq([_block(one, depth + 1) for one in value])
        if all(not isinstance(one, dict) for one in value):
            made_list.fa.set_flow_style()
        return made_list
    return value


def _short(value: dict[str, Any]) -> bool:
    return len(str(value)) <= _WIDTH and "steps" not in value and "say" not in value


def _spaced(text: str) -> str:
    """An empty line before each section and step."""
    lines: list[str] = []
    for line in text.splitlines():
        section = line[:1].isalpha() and line.endswith(":")
        step = line.startswith("  - id:")
        if (section or step) and lines and lines[-1] != "steps:":
            lines.append("")
        lines.append(line)
    return "\n".join(lines) + "\n"
