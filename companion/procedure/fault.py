"""One thing that is wrong with a procedure, and where in its data it stands."""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

Path = tuple[str | int, ...]
"""Keys and positions from the top of the procedure, such as ("steps", 3, "opens", 0)."""


@dataclass(frozen=True)
class Fault:
    """What is wrong and what to do about it, in one line."""

    path: Path
    message: str


def suggestion(word: str, known: Iterable[str]) -> str:
    """The end of a message about an unknown word: the nearest known one, or nothing."""
    nearest = get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f"; did you mean '{nearest[0]}'?" if nearest else ""
