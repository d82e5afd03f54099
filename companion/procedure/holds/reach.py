"""What is reached through what, by the order of the taking apart or by the word of the file."""

from collections import deque
from collections.abc import Iterator
from typing import NamedTuple

from companion.procedure.order import Order


class Opening(NamedTuple):
    """Something that may be open, told apart by the step that opened it."""

    item: str
    """Empty for a step that was skipped and would have tightened or filled."""
    step: str
    """The step that opened it, or the skipped step."""


class Reach:
    """The openings of a procedure, what closes each, and through which others it is reached."""

    def __init__(self, order: Order) -> None:
        self._order = order
        self._items = order.procedure.items
        self.closed_by: dict[Opening, str | None] = {
            Opening(item, step.id): self._closer(item, step.id) for step in order.steps for item in step.opens
        }
        """The step that surely comes next and closes it."""
        self._directly: dict[Opening, tuple[Opening, ...]] = {}
        self._through: dict[Opening, dict[str, str]] = {}

    def _closer(self, item: str, opener: str) -> str | None:
        later = (s for s in self._order.steps if item in s.closes and self._order.before(opener, s.id))
        return next((s.id for s in later), None)

    def around(self, opening: Opening) -> Iterator[Opening]:
        """Openings that surely come before this one and are not surely closed before it."""
        for other, closer in self.closed_by.items():
            first = other.item != opening.item and self._order.before(other.step, opening.step)
            if first and not (closer and self._order.before(closer, opening.step)):
                yield other

    def directly_through(self, opening: Opening) -> tuple[Opening, ...]:
        """What hides it: the items in `reached_through`, or by default all that was open before it."""
        if opening not in self._directly:
            named = self._items[opening.item].reached_through
            hiding = (other for other in self.around(opening) if named is None or other.item in named)
            self._directly[opening] = tuple(hiding)
        return self._directly[opening]

    def through(self, opening: Opening) -> dict[str, str]:
        """Every item that hides it, also by way of another: hiding item -> what it hides it by, or itself."""
        if opening not in self._through:
            self._through[opening] = self._search(opening)
        return self._through[opening]

    def _search(self, opening: Opening) -> dict[str, str]:
        """The nearest first; of an item that was opened twice only the first opening counts."""
        found: dict[str, str] = {}
        seen = {opening.item}
        ahead = deque((hider, hider.item) for hider in self.directly_through(opening))
        seen |= {hider.item for hider, _ in ahead}
        while ahead:
            hider, by = ahead.popleft()
            if hider.item in found:
                continue
            found[hider.item] = by
            for further in self.directly_through(hider):
                if further.item not in seen:
                    seen.add(further.item)
                    ahead.append((further, by))
        found.pop(opening.item, None)
        return found
