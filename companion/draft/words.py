"""How steps are worded: short, each number from the field that it speaks of."""

import re
from collections.abc import Sequence

from companion.outline.deed import Deed, Doing, Fastened
from companion.outline.kinds import kind_of
from companion.outline.lexicon import rows, singular
from companion.procedure.nouns import plural
from companion.procedure.numbers import number

_BY_HAND = frozenset(singular(noun) for noun in rows("fasteners")["by_hand"])
_NOUNS = frozenset(singular(noun) for noun in rows("fasteners")["nouns"])
_JOINED = frozenset(rows("fasteners")["joining"])
_PLUG_NAMES = (
    "connector",
    "plug",
    "lead",
    "wire",
    "cable",
    "loom",
    "harness",
    "strap",
    "earth",
    "terminal",
    "cap",
    "spade",
    "rod",
    "spring",
)
_FEW = 12


def slug(name: str) -> str:
    """An id made of a name."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40].strip("-") or "thing"


def item_name(deed: Deed, kind: str) -> str:
    """What the ledger calls it: the connector of a motor, not the motor."""
    thing = deed.thing
    if kind == "connector" and singular(thing.split()[-1]) not in _PLUG_NAMES:
        return f"{thing} connector"
    if kind == "fluid" and kind_of(thing) != "fluid":
        return f"{thing} fluid"
    return thing


def fasteners_name(deed: Deed, one: Fastened) -> str:
    """What its fasteners are called, so that they are told from all others of the job."""
    itself = singular(deed.thing.split()[-1]) in _NOUNS
    told = one.what or (deed.thing if itself else "screws" if one.six_lobe or one.driver else "bolts")
    noun = singular(told.split()[-1])
    if singular(deed.thing.split()[-1]) == noun:
        return _as_many(one.count, deed.thing)
    *before, last = deed.thing.split()
    words = [] if deed.thing.split()[0] == told.split()[0] else [*before, singular(last)]
    if deed.doing is Doing.DRAIN:
        return "drain plug" if noun == "plug" else f"{deed.thing} drain {noun}"
    return _as_many(one.count, " ".join([*words, told]))


def _as_many(count: int | None, name: str) -> str:
    *before, last = name.split()
    if count is None:
        return name
    return " ".join([*before, singular(last) if count == 1 else plural(singular(last))])


def by_hand(deed: Deed, one: Fastened, kind: str) -> bool:
    """Are they shut or done up by feel, as clips and the screws of a panel are?"""
    if one.torque is not None or one.angle is not None:
        return False
    told = " ".join(singular(word) for word in one.what.split())
    if told in _BY_HAND or (
        told and told.split()[-1] in _BY_HAND and not set(told.split()) & {"guide", "pinch"}
    ):
        return True
    if kind == "connector":
        return not (told and told.split()[-1] in ("nut", "bolt", "screw")) and not one.size
    if kind == "hose":
        return not (
            one.size
            and told
            and (told.split()[-1] in ("nut", "bolt", "union") or _JOINED & set(told.split()))
        )
    return kind == "panel" and (bool(one.six_lobe or one.driver) or told.endswith("screw"))


def short(thing: str, one: Fastened, name: str) -> str:
    """ "Screws" beside the panel that they hold; a name of their own is kept."""
    *before, last = thing.split()
    rest = name.removeprefix(f"{' '.join([*before, singular(last)])} ").removeprefix(f"{thing} ")
    return rest if rest and rest != name and one.what != thing else name


def counted(one: Fastened, name: str) -> str:
    """ "Six screws", "the bolts", "the drain plug"."""
    if one.count is None or one.count == 1:
        return f"the {name}"
    return f"{number(one.count) if one.count <= _FEW else one.count} {name}"


def undone(deed: Deed, kind: str, name: str, fasteners: Sequence[tuple[Fastened, str]]) -> str:
    """What is said when it is taken apart."""
    held = " and ".join(counted(one, short(name, one, what)) for one, what in fasteners)
    match deed.doing:
        case Doing.DRAIN:
            return f"Take {held} out and drain the {name}." if held else f"Drain the {name}."
        case Doing.SLACKEN:
            return f"Slacken {held or f'the {name}'}."
        case Doing.DISCONNECT if kind == "connector" and not held:
            return (
                f"Unplug the {name}."
                if singular(name.rsplit(maxsplit=1)[-1]) in ("connector", "plug")
                else f"Take the {name} off."
            )
        case Doing.DISCONNECT:
            return f"Undo {held} and take the {name} off." if held else f"Take the {name} off."
        case _:
            where = "out" if re.search(r"\bout\b", deed.text.lower()) and kind != "panel" else "off"
            itself = [
                what for _, what in fasteners if singular(what) == singular(name) or what.endswith(name)
            ]
            if itself:
                return f"Take {held} out."
            return f"Undo {held} and take the {name} {where}." if held else f"Take the {name} {where}."


def done_up(
    deed: Deed, kind: str, name: str, fasteners: Sequence[tuple[Fastened, str]], seal: str | None
) -> str:
    """What is said when it goes back."""
    held = " and ".join(counted(one, short(name, one, what)) for one, what in fasteners)
    plural_seal = seal is not None and singular(seal.split()[-1]) != seal.split()[-1]
    new = f" with {'' if plural_seal else 'a '}new {seal.removeprefix(f'{name} ')}" if seal else ""
    itself = bool(fasteners) and any(
        singular(what) == singular(name) or what.endswith(name) for _, what in fasteners
    )
    if deed.doing is Doing.SLACKEN or itself:
        start = f"Fit {held}{new}." if deed.doing is not Doing.SLACKEN else ""
        several = len(fasteners) > 1 or (bool(fasteners) and (fasteners[0][0].count or 2) > 1)
        them = (held or f"the {name}") if not start else "them" if several else "it"
        return f"{start} Tighten {them}.".strip()
    if deed.doing is Doing.DRAIN:
        return f"Fit {held or 'the drain plug'}{new}."
    if kind == "connector" and not held:
        plugged = singular(name.rsplit(maxsplit=1)[-1]) in ("connector", "plug")
        return f"Plug the {name} in." if plugged else f"Put the {name} back on."
    if kind == "hose" and not held:
        return f"Push the {name} on{new}."
    return f"Fit the {name}{new}.{f' Then {held}.' if held else ''}"
