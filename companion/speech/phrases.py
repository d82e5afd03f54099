"""Which words mean which command: one data file per language, `phrases/<language>.yaml`."""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Phrase:
    """One thing that can be said now."""

    text: str
    """Words as spoken, lower case, numbers spelled out."""
    command: str
    """The value of a `companion.job.commands.Command`."""
    arguments: tuple[tuple[str, str], ...] = field(default=())
    """Pairs such as ("minutes", "10"); hashable, so that phrase sets can be cached."""
