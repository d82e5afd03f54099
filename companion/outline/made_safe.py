"""How it is told that something is made safe: "battery off first", "let it cool down an hour"."""

import re

from companion.outline.lexicon import rows

_PATTERNS = [(source, re.compile("|".join(row["patterns"]))) for source, row in rows("energy").items()]


def energy_in(text: str) -> str | None:
    """The energy source that a plain piece of a line makes safe; None when it tells of none."""
    return next((source for source, pattern in _PATTERNS if pattern.search(text)), None)
