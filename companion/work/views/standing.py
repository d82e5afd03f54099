"""What waits and what is open, listed in as many rows as there are. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from companion.work.views.rows import cells, cut, ended, padded


@dataclass(frozen=True)
class Listing:
    """A list with a heading that counts it."""

    heading: str
    """ "open 5"."""
    say: str
    """What to say to hear all of it."""
    lines: tuple[str, ...]

    @property
    def rows(self) -> int:
        """How many show all of it."""
        return 1 + len(self.lines)

    def shown(self, width: int, rows: int, more: str) -> list[str]:
        """As many as fit. The heading says when anything is cut or missing."""
        if rows < 1:
            return []
        items = [cut(line, width, more) for line in self.lines[: rows - 1]]
        whole = items == list(self.lines)
        return [cut(self.heading if whole else f"{self.heading}{more} say {self.say}", width, more), *items]


def beside(left: Listing, right: Listing, width: int, rows: int, bar: str, more: str) -> list[str]:
    """Two lists beside each other."""
    half = (width - cells(bar)) // 2
    columns = [one.shown(half, rows, more) for one in (left, right)]
    first, second = ([*column, *[""] * (rows - len(column))] for column in columns)
    return [f"{padded(a, half)}{bar}{b}" for a, b in zip(first, second, strict=True)]


def stacked(lists: Sequence[Listing], width: int, rows: int, more: str) -> list[str]:
    """One or two lists under each other; in a single row only their headings."""
    if rows < len(lists):
        headings = ", ".join(one.heading for one in lists)
        return [ended(headings, width, f"{more} say {lists[-1].say}")][:rows]
    *before, last = lists
    room = sum(one.rows for one in before)
    share = min(last.rows, max(rows - room, rows - rows // 2)) if before else rows
    return [
        row
        for one, given in zip(lists, [rows - share, share][-len(lists) :], strict=True)
        for row in one.shown(width, given, more)
    ]
