"""Pages that are partly made from the program: prose by hand, and blocks between marks that are filled in.

`python -m tests.written` fills them; `tests/test_written.py` fails when one is out of date.
"""

import re
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.written import logs, procedures, readme, slips

ROOT = Path(__file__).parents[2]
_BLOCK = re.compile(r"(<!-- made: (?P<name>[\w -]+) -->\n).*?(<!-- end -->)", re.DOTALL)

Blocks = Mapping[str, Callable[[str], str]]
"""Name of a block -> what makes it from the page it stands in."""

PAGES: Mapping[str, Blocks] = {
    "README.md": readme.BLOCKS,
    "procedures/README.md": {**procedures.BLOCKS, **slips.BLOCKS},
    "logs/README.md": logs.BLOCKS,
}


def filled(page: str, text: str) -> str:
    """The text of a page with every block made anew."""
    blocks = PAGES[page]
    found = {match["name"] for match in _BLOCK.finditer(text)}
    assert found == set(blocks), f"{page} has the blocks {sorted(found)} and not {sorted(blocks)}"
    return _BLOCK.sub(lambda m: f"{m[1]}\n{blocks[m['name']](text).strip()}\n\n{m[3]}", text)


def write_all() -> list[str]:
    """Fill every page; the names of those that changed."""
    changed = []
    for page in PAGES:
        path = ROOT / page
        before = path.read_text("utf-8")
        if (after := filled(page, before)) != before:
            path.write_text(after, "utf-8")
            changed.append(page)
    return changed
