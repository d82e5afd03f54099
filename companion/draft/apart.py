"""The taking apart, as it was told: a step a deed, with what it opens and what it disturbs."""

import re
from dataclasses import dataclass

from companion.draft.course_of_work import item_kind
from companion.draft.sheet import (
    Data,
    Held,
    Sheet,
    ask,
    ask_count,
    circuit_in,
    duration,
    fastener,
    hazard,
    held_by,
    minutes_for,
    sentence,
    step_of,
)
from companion.draft.words import item_name, slug, undone
from companion.outline.deed import OPENING, Deed, Doing
from companion.outline.kinds import kind_of

_WARNS = re.compile(r"^(?:mind|careful|watch|beware|never|don't|do not|caution|warning|danger|attention)\b")
_ACTS = {Doing.DISCONNECT: "disconnect", Doing.DRAIN: "drain"}
_PROTECTED = {"hose": "a clean plug", "port": "a clean cloth", "joint": "a clean cloth"}


@dataclass(frozen=True)
class Opened:
    """One thing taken apart, and what its way home needs."""

    deed: Deed
    kind: str
    item: str
    name: str
    held: Held
    seal: str | None
    """The id of its seal."""
    plug: str | None = None
    """The item of the hole that a fluid ran out of."""


def apart(sheet: Sheet, deed: Deed) -> Opened | None:
    """The step of a deed; what it opened, if anything."""
    match deed.doing:
        case doing if doing in OPENING:
            return _open(sheet, deed)
        case Doing.NOTE:
            _remark(sheet, deed.note or deed.text)
        case Doing.WAIT if deed.minutes:
            step = step_of(f"wait-{slug(deed.thing)}", "wait", sentence(deed.text), deed.minutes)
            sheet.add(step | {"wait": duration(deed.minutes)})
        case Doing.CLEAN:
            _plain(sheet, deed, "clean", f"Clean the {deed.thing}.", 4)
        case Doing.MARK:
            _plain(sheet, deed, "inspect", f"Mark how the {deed.thing} sits.", 1)
        case Doing.INSPECT if deed.thing:
            _plain(sheet, deed, "inspect", f"Check the {deed.thing}.", 2)
        case _:
            _plain(sheet, deed, "inspect", sentence(deed.text), 2)
    return None


def _plain(sheet: Sheet, deed: Deed, act: str, say: str, minutes: float) -> None:
    step = step_of(f"{act}-{slug(deed.thing)}", act, say, minutes)
    if deed.where:
        step["where"] = deed.where
    if deed.note:
        step["more"] = sentence(deed.note)
    sheet.add(sheet.under(step))


def _open(sheet: Sheet, deed: Deed) -> Opened:
    kind = item_kind(deed)
    name = item_name(deed, kind)
    held = held_by(deed)
    item = sheet.id(slug(name), "items")
    sheet.data["items"][item] = _item(deed, kind, name)
    plug = _drain(sheet, name) if kind == "fluid" else None
    seal = _seal(sheet, deed, plug or item, name)
    end = "slack" if deed.doing is Doing.SLACKEN else "out" if kind == "fluid" else "off"
    said = undone(deed, kind, name, held)
    step = step_of(f"{slug(name)}-{end}", _ACTS.get(deed.doing, "remove"), said, minutes_for(held))
    step["opens"] = [item, *([plug] if plug else [])]
    if held:
        step["fasteners"] = [fastener(*one, step, going_in=False) for one in held]
        ask_count(step, held)
    if seal:
        step["disturbs"] = [seal]
    if deed.where:
        step["where"] = deed.where
    if deed.note:
        _noted(step, deed.note)
    if kind == "fluid" and kind_of(deed.thing) == "fluid":
        hazard(step, "hot or old fluid harms the skin", "wear gloves and let it cool")
    if deed.certainty("doing") < 1 and not held and kind_of(deed.thing) is None:
        ask(step, f"Is the {name} taken off here? The outline says: {deed.text}", "other")
    sheet.add(sheet.under(step))
    return Opened(deed, kind, item, name, held, seal, plug)


def _item(deed: Deed, kind: str, name: str) -> Data:
    item: Data = {"name": name, "kind": kind}
    if deed.where:
        item["where"] = deed.where
    if deed.releases:
        item["releases"] = deed.releases
    if kind in _PROTECTED:
        item["protect"] = _PROTECTED[kind]
    if kind == "fluid":
        item["reached_through"] = []
    circuit = circuit_in(f"{name} {deed.where or ''}")
    if circuit and kind in (*_PROTECTED, "fluid"):
        item["circuit"] = circuit
    return item


def _drain(sheet: Sheet, name: str) -> str:
    plug = sheet.id(f"{slug(name)}-drain", "items")
    circuit = circuit_in(name)
    sheet.data["items"][plug] = {"name": f"{name} drain", "kind": "port", "protect": "a clean cloth"}
    sheet.data["items"][plug] |= {"circuit": circuit} if circuit else {}
    return plug


def _seal(sheet: Sheet, deed: Deed, joint: str, name: str) -> str | None:
    seal = deed.seal
    if seal is None and deed.first.renew and not deed.first.what and "seal" in deed.thing.split():
        seal = deed.thing
    if seal is None:
        return None
    called = seal if set(seal.split()) & set(name.split()) else f"{name} {seal}"
    id_ = sheet.id(slug(called), "seals")
    part = sheet.id(f"new-{slug(called)}", "parts")
    sheet.data["parts"][part] = {"name": called, "single_use": True}
    sheet.data["seals"][id_] = {"name": called, "use": "single", "part": part, "joint": joint}
    return id_


def _remark(sheet: Sheet, text: str) -> None:
    """Goes with the step before it."""
    if sheet.steps:
        _noted(sheet.steps[-1], text)


def _noted(step: Data, note: str) -> None:
    if _WARNS.match(note.lower()):
        hazard(step, "the outline warns here", note)
    else:
        step["more"] = sentence(f"{step['more']} {note}" if "more" in step else note)
