"""Facts put together: each a sentence, and no more than three in one saying."""

from collections.abc import Iterable, Sequence

from companion.procedure.wording import sentences

FACTS = 3
"""No more facts in one saying: people read back longer ones wrongly."""


def sentence(text: str) -> str:
    """With a capital and an end mark."""
    ended = text if text.endswith((".", "?", "!", '."', '?"')) else f"{text}."
    return ended[:1].upper() + ended[1:]


def in_threes(facts: Sequence[str]) -> Iterable[str]:
    """Facts joined into sayings of at most three sentences."""
    each = [one for fact in facts for one in sentences(sentence(fact))]
    for start in range(0, len(each), FACTS):
        yield " ".join(each[start : start + FACTS])
