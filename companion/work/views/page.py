"""The whole screen as rows, for a terminal of any size. Pure.

Each part has rows given to it in the order of how much it is needed, so that the smallest terminal shows the
step and what is wanted. A part that has fewer rows than it wants says so, and how to hear the rest.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from companion.job.facts.state import State
from companion.job.rules.ledger import left_out, open_things
from companion.terminal import Letters
from companion.work.views import told
from companion.work.views.figures import Figure, figures
from companion.work.views.numerals import HIGH, large, side_by_side
from companion.work.views.rows import Row, cells, cut, cut_off, padded, tail, wrapped
from companion.work.views.standing import Listing, beside, stacked

ALL = 1000
TWO_COLUMNS = 100
TALK = 6
LOW = 16
"""Rows of a terminal below which the step needs all of them."""


@dataclass(frozen=True)
class Seen:
    """What a view has been told so far."""

    at: tuple[State, datetime] | None = None
    """Where the job stands, and when that was."""
    talk: tuple[Row, ...] = ()
    typed: str = ""
    warning: str = ""


@dataclass
class _Part:
    """A part of the page. It knows how many rows show all of it, and what to show in fewer."""

    full: int
    rows: Callable[[int], list[Row]]
    given: int = 0

    def drawn(self) -> list[Row]:
        return self.rows(self.given)


def page(seen: Seen, width: int, height: int, letters: Letters) -> list[Row]:
    """So many rows, none wider than that."""
    if seen.at is None:
        return [Row()] * height
    sheet = _Sheet(*seen.at, seen, max(1, width), letters)
    head, alarm, hazards, words = sheet.head(), sheet.alarm(), sheet.hazards(), sheet.words()
    failed, prompt, foot = sheet.failed(), sheet.prompt(), sheet.foot()
    standing, next_, talk = sheet.standing(), sheet.next_step(), sheet.talk()
    meanwhile = sheet.meanwhile()
    urgent = 1 if seen.typed or seen.warning else 0
    room = _give(
        height, (alarm, 1), (words, 1), (prompt, 1), (head, 1), (foot, urgent), (words, 3), (failed, 1),
        (standing, 1 if height >= LOW else 0), (prompt, 2), (hazards, 2), (words, ALL), (hazards, ALL),
        (prompt, ALL), (failed, ALL),
    )  # fmt: skip
    big, small = sheet.figures(room)
    room = _give(
        room, (big, ALL), (small, 1), (head, ALL), (alarm, ALL), (foot, 1), (small, ALL), (meanwhile, ALL),
        (standing, 3), (next_, 1), (talk, 2), (standing, 5), (next_, ALL), (foot, ALL), (standing, 8),
        (talk, 4),
    )  # fmt: skip
    top = [part for part in (head, alarm, hazards, failed, words, big, small, prompt) if part.given]
    blanks = min(room, len(top))
    room = _give(room - blanks, (talk, TALK), (standing, ALL), (talk, ALL)) + blanks
    upper, room = _spaced([part.drawn() for part in top], room)
    lower = [row for part in (meanwhile, standing, next_, talk, foot) for row in part.drawn()]
    return [*upper, *[Row()] * room, *lower]


def _give(room: int, *wanted: tuple[_Part, int]) -> int:
    """Give each part up to so many rows, in this order, while there is room. Returns the room left."""
    for part, rows in wanted:
        more = max(0, min(min(rows, part.full) - part.given, room))
        part.given += more
        room -= more
    return room


def _spaced(parts: Sequence[list[Row]], room: int) -> tuple[list[Row], int]:
    """The parts with a blank row between them as far as there is room; and what room is left."""
    rows: list[Row] = []
    for n, part in enumerate(parts):
        if n and room:
            rows.append(Row())
            room -= 1
        rows += part
    return rows, room


class _Sheet:
    """The parts of a page of one width."""

    def __init__(self, state: State, now: datetime, seen: Seen, width: int, letters: Letters) -> None:
        self._state = state
        self._now = now
        self._seen = seen
        self._width = width
        self._letters = letters
        self._more = letters.signs("…")

    def head(self) -> _Part:
        """Vehicle and job, and where in it this is."""
        names = [self._letters.words(name) for name in told.about(self._state)]
        long, brief = map(self._letters.signs, told.place(self._state))
        right = long if cells(long) <= self._width // 2 else brief
        dot = self._letters.signs(" · ")
        for shown in (names, names[:2]):
            if cells(dot.join(shown)) + 2 + cells(right) <= self._width:
                return self._fixed([self._bar(dot.join(shown), right)])
        short = self._bar(dot.join(names[:2]), right)
        two = [self._bar(names[0], ""), self._bar(dot.join(names[1:2]), right)]
        return _Part(2, lambda n: two if n > 1 else [short])

    def _bar(self, left: str, right: str) -> Row:
        room = self._width - cells(right) - (2 if right else 0)
        line = padded(cut(left, max(0, room), self._more), max(0, room))
        return Row(cut(f"{line}  {right}" if right else line, self._width, ""), "reverse bold")

    def alarm(self) -> _Part:
        return self._text([told.alarm(self._state, self._now)], "reverse bold red", filled=True)

    def hazards(self) -> _Part:
        return self._text(told.hazards(self._state), "bold red")

    def words(self) -> _Part:
        return self._text([told.words(self._state, self._now)], "bold")

    def failed(self) -> _Part:
        return self._text(told.failures(self._state), "reverse bold", "say what is open")

    def prompt(self) -> _Part:
        return self._text([told.prompt(self._state, self._now)], "bold")

    def next_step(self) -> _Part:
        return self._text([told.next_step(self._state, self._now)], "dim", "say what is next")

    def meanwhile(self) -> _Part:
        return self._text([told.meanwhile(self._state, self._now)], "", "say what is next")

    def figures(self, room: int) -> tuple[_Part, _Part]:
        """As many numbers in large numerals as fit beside each other; the others in words."""
        numbers = figures(self._state, self._now)
        shown: list[tuple[list[str], str]] = []
        left: list[Figure] = []
        for figure in numbers:
            numeral = [self._letters.signs(row) for row in large(figure.number) or ()]
            tried = [*shown, (numeral, self._letters.words(figure.caption))]
            if numeral and max(map(cells, side_by_side(tried))) <= self._width:
                shown = tried
            else:
                left.append(figure)
        if room <= HIGH or not shown:
            return self._fixed([]), self._in_words(numbers)
        return self._fixed([Row(row, "bold") for row in side_by_side(shown)]), self._in_words(left)

    def _in_words(self, numbers: Sequence[Figure]) -> _Part:
        return self._text([" · ".join(figure.words for figure in numbers)], "bold", "say what size")

    def foot(self) -> _Part:
        if self._seen.typed:
            text = tail(self._letters.words(f"type: {self._seen.typed}") + "_", self._width, self._more)
            return self._fixed([Row(text, "bold")])
        if self._seen.warning:
            return self._text([self._seen.warning], "bold red", "")
        heard = f"heard: {self._state.last_heard}" if self._state.last_heard else "say help"
        line = self._letters.words(f"space = done, Ctrl-C = leave (the job is kept) | {heard}")
        return self._fixed([Row(cut(line, self._width, self._more), "dim")])

    def talk(self) -> _Part:
        """What was said and heard last; the beginning goes first."""
        lines = [
            Row(line, row.style)
            for row in self._seen.talk
            for line in wrapped(self._letters.words(row.text), self._width)
        ]

        def last(n: int) -> list[Row]:
            kept = lines[-n:] if n else []
            if n and len(kept) < len(lines):
                first = cut(f"{self._more} {kept[0].text}", self._width, self._more)
                kept[0] = replace(kept[0], text=first)
            return kept

        return _Part(min(len(lines), 2 * TALK), last)

    def standing(self) -> _Part:
        """What waits and what is open, beside each other where the terminal is wide."""
        lists = [one for one in (self._waiting(), self._open()) if one.lines]
        if len(lists) == 2 and self._width >= TWO_COLUMNS:
            bar = self._letters.signs(" │ ")
            most = max(one.rows for one in lists)
            return self._rows(most, lambda n: beside(lists[0], lists[1], self._width, n, bar, self._more))
        full = sum(one.rows for one in lists)
        return self._rows(full, lambda n: stacked(lists, self._width, n, self._more) if n else [])

    def _waiting(self) -> Listing:
        waits = told.waits(self._state, self._now)
        wide = max((cells(left) for left, _ in waits), default=0)
        lines = tuple(f"{left:>{wide}}  {self._letters.words(what)}" for left, what in waits)
        return Listing(f"waiting {len(waits)}", "what is waiting", lines)

    def _open(self) -> Listing:
        """What is left out for good comes last, and is always shown."""
        things, left = open_things(self._state), left_out(self._state)
        counted = [f"open {len(things)}"] * bool(things) + [f"left out {len(left)}"] * bool(left)
        lines = tuple(self._letters.words(thing.text) for thing in (*things, *left))
        return Listing(", ".join(counted), "what is open", lines)

    def _text(self, texts: Iterable[str], style: str, say: str = "say repeat", filled: bool = False) -> _Part:
        """Paragraphs; in fewer rows than they want, with how to hear them."""
        shown = [self._letters.words(text) for text in texts]
        lines = [line for text in shown for line in wrapped(text, self._width)]
        more = f"{self._more} {say}".rstrip()

        def rows(n: int) -> list[Row]:
            kept = cut_off(lines, n, self._width, more)
            return [Row(padded(line, self._width) if filled else line, style) for line in kept]

        return _Part(len(lines), rows)

    def _rows(self, full: int, rows: Callable[[int], list[str]]) -> _Part:
        return _Part(full, lambda n: [Row(row) for row in rows(n)])

    def _fixed(self, rows: list[Row]) -> _Part:
        return _Part(len(rows), lambda n: rows[:n])
