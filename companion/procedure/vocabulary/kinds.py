"""Kinds of things that a step opens, and what each implies. The known kinds are rows of `kinds.toml`."""

from typing import Any, ClassVar

from companion.procedure.vocabulary.data_files import table
from companion.procedure.vocabulary.part import Text, Word


class ItemKind(Word):
    """What kind of thing was opened. It decides the words of the ledger.

    A file may declare its own, as a group of keys: it counts for one that leaks unless that says otherwise.
    """

    known: ClassVar[dict[str, Any]]
    called: Text
    """What kind of thing it is."""
    about: Text = "Declared by the file."
    """What it is, for the reader."""
    opened: Text = "open"
    """How the ledger says that it is open: "the air hose is off"."""
    leaks: bool = True
    """Open, it lets a fluid out or dirt in: its circuit is not filled, bled or run."""
    holds: bool = False
    """It holds other things together: loose, they are loose too."""
    comes_away: bool = False
    """It must come away again, or be put back whatever happens: it is never left out for good."""
    harmless: bool = False
    """It only covers or measures."""


ItemKind.rows(table("vocabulary", "kinds"), leaks=False)
