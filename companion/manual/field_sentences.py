"""The sentence under each field, and under each word to choose, read from the source of the program."""

import ast
import inspect
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import pairwise


def sentence(of: type, field: str) -> str:
    """The docstring under a field or an enum member, on one line; empty when there is none."""
    return next((found for one in of.__mro__ if (found := _sentences(one).get(field, ""))), "")


def about(of: type) -> str:
    """The docstring of a class, on one line; empty when it has none of its own."""
    return " ".join((of.__doc__ or "").split()) if "__doc__" in vars(of) else ""


@cache
def _sentences(of: type) -> dict[str, str]:
    if not of.__module__.startswith("companion."):
        return {}
    [body] = [node.body for node in ast.parse(inspect.getsource(of)).body if isinstance(node, ast.ClassDef)]
    return {name: " ".join(text.split()) for name, text in _documented(body)}


def _documented(body: Sequence[ast.stmt]) -> Iterator[tuple[str, str]]:
    for stated, said in pairwise(body):
        match stated, said:
            case ast.AnnAssign(target=ast.Name(id=name)), ast.Expr(value=ast.Constant(value=str(text))):
                yield name, text
            case ast.Assign(targets=[ast.Name(id=name)]), ast.Expr(value=ast.Constant(value=str(text))):
                yield name, text
