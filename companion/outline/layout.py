"""Outlines as people keep them: plain lines, Markdown lists and tables, CSV; made into lines to parse."""

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from companion.outline.lexicon import one_of, rows, words

_BULLET = re.compile(r"^\s*(?:[-*•+–]\s+|\(?\d{1,3}[.):]\s+|\(?[a-z][.)]\s+|\[[ xX]?\]\s*|>\s+)+")
_STEP_WORD = re.compile(r"^\s*step\s*\d+\s*[.:)-]?\s*", re.IGNORECASE)
_HEADING = re.compile(
    r"^\s*#{1,6}\s+(.*?)\s*#*\s*$|^\s*(?:\*\*|__)(.+?)(?:\*\*|__):?\s*$|^([A-Z][\w /-]{2,40}):\s*$"
)
_RULE = re.compile(r"^\s*(?:[-=_*]{3,}|\|?[\s:|-]+\|?)\s*$")
_COMMENT = re.compile(r"^\s*(?://|%|;|<!--)")
_MARKS = re.compile(r"(\*\*|__|`|~~)")
_HOME = re.compile(
    r"\b(?:refit\w*|re-?assembl\w*|put(?:ting)? (?:it )?back|back together|on again"
    r"|install\w*|rebuild|way home|assembl\w+|fitting)\b",
    re.IGNORECASE,
)
_APART = re.compile(
    r"\b(?:remov\w*|off|apart|strip\w*|dismantl\w*|dis-?assembl\w*|tak\w+|teardown|out)\b", re.IGNORECASE
)
_HALF = re.compile(
    r"(?:refit\w*|re-?assembl\w*|putting (?:it )?back(?: together)?|rebuild\w*|on again|way home|installation"
    r"|removal|dis-?assembl\w*|strip\w*|dismantl\w*|taking (?:it )?apart)",
    re.IGNORECASE,
)
_DOES = re.compile(
    one_of(
        [
            *words("words", "particles"),
            *(verb for act in rows("acts").values() for verb in act.get("plain", ())),
        ]
    )
)
_TITLE = 6
"""Words of a title, at most."""
_COLUMNS = {
    "what": r"step|what|item|part|thing|task|action|do|operation|component|description|name|job",
    "count": r"qty|quantity|how many|no\.?|number|count|n|pcs|#|fasteners?|fixings?|fixing|held by",
    "size": r"size|tool|drive|head|thread|spanner|key|socket|bit",
    "torque": r"torque|nm|n·m|tightness|tq",
    "bag": r"bag|kept(?: in)?|where kept|tray|store|stored|put",
    "note": r"notes?|remarks?|comments?|how|release|care|mind|where|place|location",
    "nothing": r"step|#|no\.?|nr\.?|line|id",
}


@dataclass(frozen=True)
class Line:
    """One line of an outline, without its bullet."""

    number: int
    """In the file, from 1."""
    text: str
    home: bool = False
    """Under a heading that speaks of the way home."""


@dataclass(frozen=True)
class Outline:
    """An outline's title, if it has one, and its lines."""

    title: str | None
    lines: tuple[Line, ...]


def lines_of(text: str) -> Outline:
    """The lines of an outline in whichever of the forms it is."""
    rows = text.splitlines()
    if table := _csv(rows):
        return Outline(None, tuple(table))
    title: str | None = None
    found: list[Line] = []
    home = False
    header: list[str] | None = None
    for number, row in enumerate(rows, start=1):
        if not row.strip() or _RULE.match(row):
            continue
        after = rows[number] if any(row.strip() for row in rows[number:]) else "the end"
        listed = next((row for row in rows[number:] if row.strip()), "")
        after = listed if _BULLET.match(listed) else after
        if told := _heading(row, after, first=not found and title is None):
            home = bool(_HOME.search(told)) or (home and not _APART.search(told))
            title = title or (None if found or _only_a_half(told) else told)
            continue
        if _COMMENT.match(row):
            continue
        if row.strip().startswith("|"):
            cells = [cell.strip() for cell in row.strip().strip("|").split("|")]
            if header is None:
                header = cells
            elif line := _table_line(header, cells):
                found.append(Line(number, line, home))
            continue
        header = None
        plain = _MARKS.sub("", _STEP_WORD.sub("", _BULLET.sub("", row))).strip()
        if plain:
            found.append(Line(number, plain, home))
    return Outline(title, tuple(found))


def _heading(row: str, after: str, *, first: bool) -> str | None:
    """The words of a heading: marked, underlined, a mere "refit", or the first line with a gap under it."""
    if marked := _HEADING.match(row):
        return next(group for group in marked.groups() if group)
    plain = row.strip().rstrip(":")
    if _BULLET.match(row) or row.lstrip().startswith("|"):
        return None
    underlined = bool(re.fullmatch(r"\s*(?:-{3,}|={3,})\s*", after))
    short = len(plain.split()) <= _TITLE and not re.search(r"[,:;.]|\b\d", plain)
    does = _DOES.search(plain.lower()) or re.search(r"\d", plain)
    alone = first and not does and ((short and not after.strip()) or bool(_BULLET.match(after)))
    return plain if underlined or alone or _HALF.fullmatch(plain) else None


def _only_a_half(words: str) -> bool:
    plain = re.sub(r"\W+", "", words.lower())
    return plain in (
        "off",
        "out",
        "apart",
        "removal",
        "remove",
        "dismantling",
        "strip",
        "teardown",
        "steps",
        "takingapart",
    ) or bool(_HOME.fullmatch(words.strip()))


def _csv(rows: Sequence[str]) -> list[Line]:
    """A table with commas, semicolons or tabs, known by a first row whose cells are names of columns."""
    filled = [
        (n, row) for n, row in enumerate(rows, start=1) if row.strip() and not row.lstrip().startswith("#")
    ]
    if len(filled) < 2:
        return []
    for delimiter in (",", ";", "\t"):
        header = [cell.strip().lower() for cell in next(csv.reader([filled[0][1]], delimiter=delimiter))]
        known = [_column(cell) for cell in header]
        if len(header) >= 2 and sum(one is not None for one in known) >= max(2, len(header) - 2):
            return [
                Line(n, line)
                for n, row in filled[1:]
                if (line := _table_line(header, next(csv.reader([row], delimiter=delimiter))))
            ]
    return []


def _column(head: str) -> str | None:
    plain = head.strip().lower()
    return next((kind for kind, pattern in _COLUMNS.items() if re.fullmatch(pattern, plain)), None)


def _table_line(header: Sequence[str], cells: Sequence[str]) -> str:
    """A row as a mechanic would have written it in a line."""
    return ", ".join(_told(header, cells))


def _told(header: Sequence[str], cells: Sequence[str]) -> Iterator[str]:
    numbers = (
        bool(header) and all(re.fullmatch(r"\d*\.?", cells[0].strip() or "") is not None for _ in [0])
        if cells
        else False
    )
    pairs = list(zip(header, cells, strict=False))
    if numbers:
        pairs = pairs[1:]
    count = next(
        (c.strip() for h, c in pairs if _column(h) == "count" and re.fullmatch(r"\d+", c.strip())), None
    )
    for head, raw in pairs:
        cell = raw.strip()
        if not cell or cell in ("-", "–", "n/a", "none"):
            continue
        match _column(head):
            case "count" if count == cell:
                yield f"{cell} off"
            case "size" if re.fullmatch(r"\d+(?:\.\d+)?", cell):
                yield f"{cell} mm"
            case "torque" if re.fullmatch(r"\d+(?:\.\d+)?", cell):
                yield f"{cell} Nm"
            case "bag" if not re.match(r"[a-z]{3,} ", cell.lower()):
                yield f"bag {cell}" if not re.match(r"(?i)bag|tray|pot|tin|box", cell) else cell
            case _:
                yield cell
