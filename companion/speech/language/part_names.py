"""A part and the time until it is there, as said in one breath: "the pump, back in three days"."""

import re
from datetime import timedelta

from companion.job.facts.said.given import Given, PartAndWait, Words
from companion.procedure.numbers import number

_MINUTES = {"hour": 60, "day": 1440, "week": 10080}
_WHEN = re.compile(
    r"(?:^|(?P<name>.*?)[\s,;:]+(?:(?:is |be )?(?:back|expected|here|due)[\s,]+)?(?:in[\s]+)?)"
    r"(?:in\s+)?(?P<many>\d{1,3}|[a-z]+(?:[ -][a-z]+)?)\s+(?P<unit>hour|day|week)s?",
    re.IGNORECASE,
)


def part_and_wait(text: str) -> Words | PartAndWait:
    """What was said of a part: its name, and the time where one was said."""
    name, wait = name_and_wait(text)
    return Words(text) if wait is None else PartAndWait(text, name, wait)


def of_a_part(given: Given | None) -> Given | None:
    """Own words that were asked for as the name of a part."""
    return part_and_wait(given.text) if isinstance(given, Words) else given


def name_and_wait(text: str) -> tuple[str, timedelta | None]:
    """ "the pump, back in three days" as the pump and three days; None where no length of time was said."""
    words = " ".join(text.split()).strip(" .,;:!?")
    if words.casefold().endswith("tomorrow"):
        return words[: -len("tomorrow")].strip(" ,;:"), timedelta(days=1)
    found = _WHEN.fullmatch(words)
    many = _how_many(found["many"]) if found else None
    if found is None or many is None:
        return words, None
    return (found["name"] or "").strip(" ,;:"), timedelta(minutes=many * _MINUTES[found["unit"].lower()])


def _how_many(word: str) -> int | None:
    """A whole number in digits or in words, up to ninety nine in words."""
    if word.isdigit():
        return int(word)
    plain = word.lower().replace("-", " ")
    if plain in ("a", "an"):
        return 1
    return next((n for n in range(1, 100) if number(n) == plain), None)
