"""What is hard to take in by ear: too long, too many facts, signs that nobody can say."""

import re
from collections.abc import Iterator

from companion.procedure.checks.words.text import quantities
from companion.procedure.fault import Fault, advice
from companion.procedure.model import Procedure
from companion.procedure.order import Order

LONG = advice(
    "too-long-to-hear",
    "A saying is too long for the ear.",
    "The end of it is kept in mind and the beginning lost.",
    "One instruction a step; put the rest into `more` or into a step of its own.",
)
FACTS = advice(
    "too-many-facts",
    "A saying has more than three facts.",
    "Readbacks get worse with each.",
    "Give fasteners their fields, which are asked for one by one; put the rest into `more`.",
)
SIGNS = advice(
    "cannot-be-said",
    "A text has signs that cannot be said.",
    "The voice leaves them out or spells them.",
    "Write it as it should be heard.",
)
MOST_WORDS, MOST_IN_MORE, MOST_IN_STATE = 28, 60, 6
"""Chosen here, no source; the procedures that come along have at most 24 words in a saying."""
MOST_FACTS = 3
_SIGNS = re.compile(r"https?:|www\.|[<>{}|\\^~`#*=]|\[|\]")


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's texts, and the names that are said."""
    for position, step in enumerate(procedure.steps):
        for field, text, most in (
            ("say", step.say, MOST_WORDS),
            ("more", step.more or "", MOST_IN_MORE),
            ("state", step.state or "", MOST_IN_STATE),
        ):
            path = ("steps", position, field)
            if (words := len(text.split())) > most:
                yield LONG.at(path, f"has {words} words; {most} are enough for the ear, shorten it")
            if sign := _SIGNS.search(text):
                yield SIGNS.at(path, f"'{sign[0]}' cannot be said; write it in words")
        facts = [said for said in quantities(step.say) if said.unit or said.value > 1]
        if len(facts) > MOST_FACTS:
            shown = ", ".join(said.shown for said in facts)
            message = f"has {len(facts)} facts ({shown}); three are enough, put the rest into `more`"
            yield FACTS.at(("steps", position, "say"), message)
