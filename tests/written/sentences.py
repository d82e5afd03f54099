"""Which fields have no sentence under them; and tables of a page."""

from collections.abc import Sequence
from enum import Enum

from pydantic import BaseModel

from companion.manual.field_sentences import about, sentence

__all__ = ["about", "row", "sentence", "table", "unexplained"]


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
