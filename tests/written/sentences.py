"""The sentence under each field, and the values it may have, read from the source of the program."""

import ast
import inspect
from collections.abc import Iterator, Sequence
from enum import Enum
from functools import cache
from itertools import pairwise

from pydantic import BaseModel


def sentence(of: type, field: str) -> str:
    """The docstring under a field or an enum member, on one line; empty when there is none."""
    return _sentences(of).get(field, "")


def about(of: type) -> str:
    """The docstring of a class, on one line; empty when it has none of its own."""
    return " ".join((of.__doc__ or "").split()) if "__doc__" in vars(of) else ""


@cache
def _sentences(of: type) -> dict[str, str]:
    [body] = [node.body for node in ast.parse(inspect.getsource(of)).body if isinstance(node, ast.ClassDef)]
    return {name: " ".join(text.split()) for name, text in _documented(body)}


def _documented(body: Sequence[ast.stmt]) -> Iterator[tuple[str, str]]:
    for stated, said in pairwise(body):
        match stated, said:
            case ast.AnnAssign(target=ast.Name(id=name)), ast.Expr(value=ast.Constant(value=str(text))):
                yield name, text
            case ast.Assign(targets=[ast.Name(id=name)]), ast.Expr(value=ast.Constant(value=str(text))):
                yield name, text


def unexplained(models: Sequence[type[BaseModel]], enums: Sequence[type[Enum]]) -> list[str]:
    """Fields and values that have no sentence."""
    fields = [f"{m.__name__}.{f}" for m in models for f in m.model_fields if not sentence(m, f)]
    return fields + [f"{e.__name__}.{v.name}" for e in enums for v in e if not sentence(e, v.name)]


def row(*cells: str) -> str:
    """A row of a table."""
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table, line by line."""
    return [row(*heads), "|" + "---|" * len(heads), *(row(*cells) for cells in rows)]
