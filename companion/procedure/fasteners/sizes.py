"""Sizes of tools: in mm, or in inches where a procedure says so."""

import re
from typing import Any

from companion.procedure.fasteners.threads import MM_IN_AN_INCH, inches

_INCH = re.compile(r"(\d{1,3}(?: \d{1,2}/[1-9]\d?|/[1-9]\d?)?) ?(?:in|inch|\")")
HOW = "write mm like 10, or inches like '7/16 in'"
_MOST = 300
"""mm; beyond any spanner. Chosen here, no source."""
_MM = re.compile(r"(\d{1,4}(?:\.\d{1,4})?) ?mm")


class Size(float):
    """mm, which remembers how it was written: `Size.parse("7/16 in")` is 11.1125 and shows as "7/16 in"."""

    inch: str | None
    """Such as "7/16", for a size in inches."""

    def __new__(cls, millimetres: float, inch: str | None = None) -> "Size":
        size = super().__new__(cls, millimetres)
        size.inch = inch
        return size

    @classmethod
    def parse(cls, value: Any) -> "Size":
        """Read a number, which is mm, or "10 mm", or "7/16 in".

        Raises:
            ValueError: anything else, or nothing at all of a size.
        """
        size = value if isinstance(value, Size) else cls._read(value)
        if not 0 < size < _MOST:
            raise ValueError(f"{repr(value)[:40]} is no size of a tool; {HOW}")
        return size

    @classmethod
    def _read(cls, value: Any) -> "Size":
        if isinstance(value, int | float) and not isinstance(value, bool):
            return cls(value)
        if isinstance(value, str) and (match := _INCH.fullmatch(value.strip())):
            return cls(inches(match[1]) * MM_IN_AN_INCH, match[1])
        if isinstance(value, str) and (match := _MM.fullmatch(value.strip())):
            return cls(float(match[1]))
        raise ValueError(f"{repr(value)[:40]} is no size of a tool; {HOW}")

    @property
    def written(self) -> float | str:
        """As a file has it."""
        return f"{self.inch} in" if self.inch else float(self)

    def __str__(self) -> str:
        return f"{self.inch} in" if self.inch else f"{float(self):g} mm"
