"""What a piece of a line tells of sizes and numbers, taken out of it; what is left tells the rest."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field

GAP = "~"
"""Stands where something was taken out, so that words on its two sides stay apart."""
HEXES = frozenset(
    "5.5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 26 27 28 29 30 32 34 36 38 41 46".split()  # noqa: SIM905
)
"""mm across the flats that a bare number may mean."""


KEYED = re.compile(r"\b(?:allen|socket|cap|hex key)\b")
"""Bolts whose size is that of their key."""


@dataclass
class Details:
    """What was found, and the rest."""

    rest: str
    """The piece, with a gap for each thing taken out."""
    what: str = ""
    count: int | None = None
    thread: str | None = None
    hex: str | None = None
    socket_hex: str | None = None
    six_lobe: str | None = None
    driver: str | None = None
    torque: float | None = None
    angle: float | None = None
    bag: str | None = None
    renew: bool = False
    seal: str | None = None
    amount: float | None = None
    minutes: float | None = None
    remark: str | None = None
    """What must be passed on as it stands."""
    sure: dict[str, float] = field(default_factory=dict)

    @property
    def sized(self) -> bool:
        """Was a tool told of?"""
        return any((self.hex, self.socket_hex, self.six_lobe, self.driver))

    @property
    def any(self) -> bool:
        """Was anything of fasteners told?"""
        return bool(self.sized or self.thread or self.count or self.what or self.torque)

    def take(self, pattern: re.Pattern[str], found: "Found") -> None:
        """Hand each match to `found`, and take it out unless that says False."""

        def gap(match: re.Match[str]) -> str:
            return match[0] if found(self, match) is False else f" {GAP} "

        self.rest = re.sub(r"\s+", " ", pattern.sub(gap, self.rest)).strip()


Found = Callable[[Details, re.Match[str]], bool | None]
Rule = tuple[re.Pattern[str], Found]
"""What is looked for, and what it means; False when it means nothing here."""


def rule(pattern: str, found: Found) -> Rule:
    """A rule of this pattern."""
    return re.compile(pattern), found


def number(text: str) -> str:
    """A figure as it is compared: 10.0 is 10."""
    return f"{float(text):g}"
