"""Threads: metric, UNC/UNF, BSP and NPT, as a procedure writes them.

The sizes of each family, with their source, are in `threads.toml`.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from companion.procedure.vocabulary.data_files import table

MM_IN_AN_INCH = 25.4
_METRIC = re.compile(r"M(?P<d>\d{1,4}(?:\.\d{1,4})?)(?:x(?P<p>\d{1,4}(?:\.\d{1,4})?))?")
_SIZE = r"#?\d{1,3}(?: \d{1,2}/[1-9]\d?|/[1-9]\d?)?"
_INCH = re.compile(
    rf"(?P<size>{_SIZE})(?:-(?P<tpi>\d{{1,3}}(?:\.\d)?))?(?: (?P<family>UNC|UNF|UN|BSP|BSPP|BSPT|NPT))?"
)
_PIPE = re.compile(rf"(?P<letter>[GR]) ?(?P<size>{_SIZE})")
_BY = re.compile(r" ?[x×] ?")
HOW = "write a thread like 'M8', 'M12x1.5', '1/4-20 UNC', 'G1/4' or '1/8 NPT'"


@dataclass(frozen=True)
class Thread:
    """One thread: its family, and how thick and how steep it is."""

    text: str
    """As the procedure writes it."""
    family: str
    """A table of `threads.toml`, such as "metric"."""
    diameter: float
    """mm, outside."""
    pitch: float | None
    """mm; None where the size is not in the tables and the text does not say."""
    standard: bool
    """Is it one of the sizes of its family?"""
    coarse: bool
    """Is it the coarse thread of its size, which the name alone means?"""

    @property
    def bears(self) -> bool:
        """Is it a thread of bolts, not of pipes?"""
        return bool(table("fasteners", "threads")[self.family]["bears"])

    @property
    def source(self) -> str:
        """The standard that has its sizes."""
        return str(table("fasteners", "threads")[self.family]["source"])

    @property
    def usual_pitches(self) -> tuple[float, ...]:
        """mm; those of this diameter in its family, the coarse one first."""
        if self.family == "metric":
            return _pitches(f"{self.diameter:g}")
        tpi = _sizes(self.family).get(_size_of(self.text))
        return (MM_IN_AN_INCH / tpi,) if tpi else ()


@cache
def parse_thread(text: str) -> Thread:
    """The thread that a text names. One that is in no table is no error here, but not `standard`.

    Raises:
        ValueError: it is no thread; the message says how one is written.
    """
    if match := _METRIC.fullmatch(text):
        return _metric(text, match)
    if match := _PIPE.fullmatch(text):
        return _inch(text, "bsp", match["size"], None)
    if (match := _INCH.fullmatch(text)) and (match["tpi"] or match["family"]):
        tpi = float(match["tpi"]) if match["tpi"] else None
        family = (match["family"] or _family_of(match["size"], tpi)).lower()
        return _inch(text, "bsp" if family.startswith("bsp") else family, match["size"], tpi)
    raise ValueError(f"{text[:40]!r} is no thread; {HOW}")


def thread_as_written(text: str) -> Thread:
    """The same as people write it: "M10 x 1.25", "M10×1.25", "m10".

    Raises:
        ValueError: as `parse_thread`.
    """
    tidy = _BY.sub("x", text.strip())
    return parse_thread(f"M{tidy[1:]}" if tidy[:1] == "m" else tidy)


def metric_sizes() -> Iterator[str]:
    """Every metric thread of the tables, such as "M8" and "M8x1"."""
    tables = table("fasteners", "threads")["metric"]
    for diameter in dict.fromkeys([*tables["coarse"], *tables["fine"]]):
        if diameter in tables["coarse"]:
            yield f"M{diameter}"
        for pitch in tables["fine"].get(diameter, ()):
            yield f"M{diameter}x{pitch:g}"


def _metric(text: str, match: re.Match[str]) -> Thread:
    diameter = float(match["d"])
    known = _pitches(f"{diameter:g}")
    coarse = table("fasteners", "threads")["metric"]["coarse"].get(f"{diameter:g}")
    pitch = float(match["p"]) if match["p"] else coarse
    return Thread(text, "metric", diameter, pitch, pitch in known, pitch is not None and pitch == coarse)


def _pitches(diameter: str) -> tuple[float, ...]:
    tables = table("fasteners", "threads")["metric"]
    first = [tables["coarse"][diameter]] if diameter in tables["coarse"] else []
    return tuple(float(pitch) for pitch in (*first, *tables["fine"].get(diameter, ())))


def _inch(text: str, family: str, size: str, tpi: float | None) -> Thread:
    known = _sizes(family).get(size)
    outside = table("fasteners", "threads")[family].get("outside", {}).get(size)
    many = tpi or known  # a thread of nothing to the inch is not one of its sizes
    pitch = MM_IN_AN_INCH / many if many else None
    standard = known is not None and tpi in (None, known)
    return Thread(text, family, outside or inches(size) * MM_IN_AN_INCH, pitch, standard, family == "unc")


def _family_of(size: str, tpi: float | None) -> str:
    """The family of a size written without one: "5/16-18" is UNC."""
    return next((name for name in ("unc", "unf", "un") if _sizes(name).get(size) == tpi), "un")


def _sizes(family: str) -> dict[str, float]:
    sizes: dict[str, float] = table("fasteners", "threads")[family]["sizes"]
    return sizes


def _size_of(text: str) -> str:
    match = _PIPE.fullmatch(text) or _INCH.fullmatch(text)
    return match["size"] if match else ""


def inches(size: str) -> float:
    """A size in inches: "5/16", "1 1/16", and number sizes, "#10" is 0.190 (ASME B1.1: 0.060 + 0.013 n).

    >>> inches("1 1/16"), round(inches("#10"), 3)
    (1.0625, 0.19)
    """
    if size.startswith("#"):
        return 0.060 + 0.013 * int(size[1:])
    return float(sum(Fraction(part) for part in size.split()))
