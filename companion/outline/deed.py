"""What an outline tells: deeds, in the order told, with how sure each of their fields is."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType


class Doing(StrEnum):
    """What is done, as it is told. Slackening and marking are told apart; both end up as other acts."""

    ISOLATE = "isolate"
    REMOVE = "remove"
    SLACKEN = "slacken"
    DISCONNECT = "disconnect"
    DRAIN = "drain"
    CLEAN = "clean"
    INSPECT = "inspect"
    MARK = "mark"
    RENEW = "renew"
    FIT = "fit"
    CONNECT = "connect"
    TIGHTEN = "tighten"
    FILL = "fill"
    APPLY = "apply"
    WAIT = "wait"
    NOTE = "note"


OPENING = frozenset([Doing.REMOVE, Doing.SLACKEN, Doing.DISCONNECT, Doing.DRAIN])
"""What must be put right again."""
CLOSING = frozenset([Doing.FIT, Doing.CONNECT, Doing.TIGHTEN, Doing.FILL])
"""What is told of the way home."""


@dataclass(frozen=True)
class Fastened:
    """Fasteners of one kind, as far as they were told of."""

    what: str = ""
    """As told: "flange bolts". Empty when only a number or a size was."""
    count: int | None = None
    thread: str | None = None
    """Such as "M8", "M12x1.5", "3/8 UNC"."""
    hex: str | None = None
    """Across the flats outside: mm as "10", inches as "7/16 in"."""
    socket_hex: str | None = None
    six_lobe: str | None = None
    driver: str | None = None
    torque: float | None = None
    """N·m."""
    angle: float | None = None
    """Degrees further, after the torque."""
    bag: str | None = None
    renew: bool = False

    @property
    def size(self) -> str | None:
        """Whatever tool fits, for comparing two that may be the same."""
        return self.hex or self.socket_hex or self.six_lobe or self.driver or self.thread


@dataclass(frozen=True)
class Deed:
    """One thing done."""

    doing: Doing
    thing: str
    """What it is done to, in the words used; an energy source by its name in the lexicon."""
    line: int
    """Where it was told, from 1."""
    text: str
    """The line."""
    fastened: tuple[Fastened, ...] = ()
    where: str | None = None
    releases: str | None = None
    """How it lets go."""
    seal: str | None = None
    """The seal that was told of with it."""
    amount: float | None = None
    """Litres."""
    minutes: float | None = None
    """A wait that was told."""
    note: str | None = None
    """What else was said, to be passed on as it stands."""
    sure: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """How sure each field is, 0 to 1; a field that is not named is as it was said."""

    def certainty(self, name: str) -> float:
        """How sure one field is."""
        return self.sure.get(name, 1.0)

    @property
    def first(self) -> Fastened:
        """The fasteners told of first, or none at all."""
        return self.fastened[0] if self.fastened else Fastened()
