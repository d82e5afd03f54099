"""One thing that is wrong or odd in a procedure, where it stands, and the rule it goes against."""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum

Path = tuple[str | int, ...]
"""Keys and positions from the top of the procedure, such as ("steps", 3, "opens", 0)."""


class Severity(StrEnum):
    """How grave a finding is."""

    ERROR = "error"
    """It may hurt someone or bury something, or the file cannot be used. No job is begun."""
    ADVICE = "advice"
    """It looks odd and may be right. It is told at the bench."""


@dataclass(frozen=True)
class Rule:
    """One kind of finding: its stable code, and the page that explains it."""

    code: str
    """Lower-case words joined by hyphens. It never changes its meaning."""
    title: str
    """What is wrong, in a line."""
    why: str
    """What comes of it in the workshop."""
    mend: str
    """What to do about it, safely."""
    severity: Severity = Severity.ERROR

    def at(self, path: Path, message: str) -> "Fault":
        """A finding of this rule."""
        return Fault(path, message, self)


@dataclass(frozen=True)
class Fault:
    """What is wrong and what to do about it, in one line."""

    path: Path
    message: str
    rule: Rule


def advice(code: str, title: str, why: str, mend: str) -> Rule:
    """A rule whose findings may be right."""
    return Rule(code, title, why, mend, Severity.ADVICE)


def suggestion(word: str, known: Iterable[str]) -> str:
    """The end of a message about an unknown word: the nearest known one, or nothing."""
    near = nearest(word, known)
    return f"; did you mean '{near}'?" if near else ""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that was most likely meant, if any is near."""
    found = get_close_matches(word, list(known), n=1, cutoff=0.6)
    return found[0] if found else None
