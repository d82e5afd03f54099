"""How a field is written in the procedures at hand: its shortest values."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

_MOST, _LONGEST = 3, 100


def examples(name: str, files: list[Path]) -> tuple[str, ...]:
    """Lines such as "torque: 9 N·m", at most three; files that cannot be read are passed over."""
    found: dict[str, None] = {}
    for path in files:
        try:
            data = YAML(typ="safe").load(path.read_text("utf-8"))
        except (OSError, ValueError, YAMLError):
            continue
        found |= dict.fromkeys(
            line for value in _values(data, name) if len(line := f"{name}: {_flow(value)}") <= _LONGEST
        )
    return tuple(sorted(found, key=len)[:_MOST])


def _values(data: Any, name: str) -> Iterator[Any]:
    if isinstance(data, dict):
        for key, value in data.items():
            if key == name:
                yield value
            yield from _values(value, name)
    elif isinstance(data, list):
        for one in data:
            yield from _values(one, name)


def _flow(value: Any) -> str:
    """On one line, as YAML has it."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_flow(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return str(value).lower() if isinstance(value, bool) else str(value)
