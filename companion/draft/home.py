"""The way home: each thing that was opened is closed once, with its seal, its torque and its fluid."""

from collections.abc import Sequence

from companion.draft.apart import Opened
from companion.draft.sheet import (
    Data,
    Held,
    Sheet,
    ask,
    circuit_in,
    fastener,
    held_by,
    is_one,
    minutes_for,
    sentence,
    step_of,
)
from companion.draft.words import by_hand, counted, done_up, slug
from companion.outline.deed import Deed, Doing, Fastened
from companion.outline.lexicon import rows

_ROOM = 0.1
"""A tenth more or less than the amount that was told; common practice, no source."""


def close(sheet: Sheet, one: Opened) -> None:
    """The step that closes it; a fluid's hole, where it is a fluid."""
    deed, name = one.deed, f"{one.name} drain plug" if one.kind == "fluid" else one.name
    seal = sheet.data["seals"][one.seal]["name"] if one.seal else None
    act = "connect" if deed.doing is Doing.DISCONNECT else "fit"
    end = "tight" if deed.doing is Doing.SLACKEN else "on"
    said = done_up(deed, one.kind, one.name, one.held, seal)
    step = step_of(f"{slug(name)}-{end}", act, said, minutes_for(one.held))
    step["closes"] = [one.plug or one.item]
    if one.seal:
        step["renews"] = [one.seal]
    if deed.where:
        step["where"] = deed.where
    by_torque = tuple(held for held in one.held if not by_hand(deed, held[0], one.kind))
    if by_torque:
        step["act"] = "tighten"
        _torque(step, deed, by_torque)
    elif one.held:
        step["fasteners"] = [fastener(*held, step, going_in=True) for held in one.held]
    if one.kind == "joint" and one.seal is None:
        ask(step, f"Is there a gasket or seal at the {one.name}, and is it renewed?", "seal")
    if circuit_in(one.name) == "brake" and one.kind in ("hose", "fluid", "port"):
        ask(step, "The brake circuit was open: how is it filled and bled?", "other", dangerous=True)
    sheet.add(sheet.under(step))


def fill(sheet: Sheet, one: Opened, later: Sequence[Opened]) -> None:
    """Put a fluid back that was let out; those that are filled later may still be out."""
    name, amount = one.name, one.deed.amount
    said = f"Fill with {name}. Read out how much went in."
    step = step_of(f"fill-{slug(name)}", "fill", said, 5) | {"closes": [one.item]}
    if circuit := circuit_in(name):
        step["circuits"] = [circuit]
    if later:
        step["leaves_open"] = [other.item for other in later]
    step["measure"] = {"what": f"{name} filled", "unit": "L"}
    if amount is None:
        ask(step, f"How much {name} goes in, in litres, and which?", "amount")
    else:
        step["measure"] |= about(amount)
    sheet.add(sheet.under(step))


def about(amount: float) -> Data:
    """The limits of an amount that was told."""
    low, high = amount * (1 - _ROOM), amount * (1 + _ROOM)
    return {"at_least": round(low, 3), "at_most": round(high, 3)}


def extra(sheet: Sheet, deed: Deed) -> None:
    """What was told of the way home and belongs to nothing that was opened."""
    act = "fill" if deed.doing is Doing.FILL else "fit"
    step = step_of(f"{act}-{slug(deed.thing)}", act, sentence(deed.text), 3)
    if deed.doing is Doing.TIGHTEN or any(one.torque for one in deed.fastened):
        held = held_by(deed) or ((Fastened(), deed.thing),)
        step["act"] = "tighten"
        step["say"] = f"Tighten {' and '.join(counted(*one) for one in held)}."
        _torque(step, deed, held)
    sheet.add(step)


def tighten_on_the_ground(sheet: Sheet, deed: Deed) -> None:
    """What was slackened before the vehicle was raised."""
    held = held_by(deed)
    said = done_up(deed, "fasteners", deed.thing, held, None)
    step = step_of(f"tighten-{slug(deed.thing)}", "tighten", said, 3)
    _torque(step, deed, held or ((Fastened(), deed.thing),))
    sheet.add(step)


def _torque(step: Data, deed: Deed, held: Held) -> None:
    """The torque that was told, or a place for it: it is asked for, read back and logged."""
    step["fasteners"] = [fastener(*one, step, going_in=True) for one in held]
    missing = [name for one, name in held if one.torque is None]
    if not missing:
        return
    what = " and ".join(missing)
    words = rows("things")["grave"]["words"]
    grave = any(word in f"{deed.thing} {what}".lower() for word in words)
    step["measure"] = {"what": f"torque of the {what}", "unit": "N·m"}
    verb = "is" if len(missing) == 1 and is_one(what) else "are"
    ask(step, f"How tight {verb} the {what}, in N·m?", "torque", dangerous=grave)
