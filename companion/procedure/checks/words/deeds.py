"""Words that tell of a deed, beside fields that do not: unplugging, draining, renewing, putting on."""

import re
from collections.abc import Iterator

from companion.procedure.checks.words.text import content, head
from companion.procedure.fault import Fault, Path, Rule
from companion.procedure.model import Act, Procedure, SealUse, Step
from companion.procedure.order import Order

OPENS = Rule(
    "tells-of-opening",
    "The words tell of taking off, unplugging or draining, and no field does.",
    "It is in no ledger: the job could be closed with it off.",
    "Declare the thing under `items` and name it in `opens`, and in `closes` of the step that puts it back.",
)
HOLE = Rule(
    "tells-of-a-hole",
    "The words tell of plugging or capping what the step opened, and no port is in the ledger.",
    "The plug stays in, or dirt goes in, and nobody is reminded.",
    "Declare the hole under `items` as a `port`, and open and close it.",
)
NEW_SEAL = Rule(
    "tells-of-a-new-seal",
    "The words tell of a new seal, and no field renews one.",
    "Nobody asks whether the new one was fitted.",
    "Declare it under `seals`, disturb it where the joint is opened and renew it here.",
)
NEW_BOLT = Rule(
    "tells-of-new-bolts",
    "The words tell of new or scrap bolts, and no field asks for new ones.",
    "Stretched bolts go back in.",
    "Write `renew: true` at the removal and at the refit.",
)
PUTS_ON = Rule(
    "tells-of-a-product",
    "The words tell of sealant or thread lock that is put on, and no field does.",
    "Neither its skinning over nor its cure is watched.",
    "Declare it under `consumables` with the times of its data sheet, and write `applies`.",
)
OTHER_PRODUCT = Rule(
    "another-product-said",
    "Another product is said than the field has.",
    "The times of the wrong data sheet are kept.",
    "Write the same in both.",
)
_OFF = frozenset({Act.REMOVE, Act.DISCONNECT, Act.DRAIN})
_STRONG = re.compile(
    r"\b(?:unplug|disconnect|unbolt|detach|unclip)\b|\bdrain (?:the|all|off|out|it)\b", re.IGNORECASE
)
_TAKES = re.compile(
    r"(?:^|[.;,] |\bthen |\band )(?:undo|unscrew|remove the|"
    r"(?:take|pull|lift|draw|prise) (?:the|both|all|its) [^.;,]*?\b(?:off|out|away|up))\b",
    re.IGNORECASE,
)
_NOT = re.compile(r"\b(?:do not|never|don't|not yet|without|before you|let it) [^.;,]*$", re.IGNORECASE)
_PLUGS = re.compile(
    r"\b(?:plug|cap|cover|seal off) the (?:\w+ ){0,2}?"
    r"(hole|port|opening|bore|pipe|hose|line|union|inlet|outlet)s?\b",
    re.IGNORECASE,
)
_SEALS = re.compile(r"\bnew (?:(?!and )\w+ ){0,3}?(ring|washer|gasket|seal|o-ring)s?\b", re.IGNORECASE)
_BOLTS = re.compile(r"\bnew (?:(?!and )\w+ ){0,2}?(bolt|screw|nut|stud|pin)s?\b", re.IGNORECASE)
_SCRAP = re.compile(
    r"\b(?:(?:bolt|screw|nut)s? (?:is|are) scrap|throw the (?:\w+ )?(?:bolt|screw|nut)s? away)\b",
    re.IGNORECASE,
)
_PUT = re.compile(r"\b(?:put|lay|apply|spread|run|coat|brush)\b", re.IGNORECASE)
_PRODUCT = re.compile(
    r"\b(sealant|silicone|thread[ -]?lock|locking fluid|adhesive|gasket maker|flange sealer)\b", re.IGNORECASE
)


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step's words."""
    for position, step in enumerate(procedure.steps):
        path: Path = ("steps", position, "say")
        yield from _opens(path, step)
        yield from _holes(path, procedure, step)
        yield from _seals(path, procedure, position, step)
        yield from _bolts(path, procedure, step)
        yield from _products(path, procedure, step)


def tells_of_opening(text: str) -> str:
    """The words that tell of it; empty when none do."""
    for pattern in (_STRONG, _TAKES):
        for match in pattern.finditer(text):
            if not _NOT.search(text[: match.start() + 1]):
                return match[0].strip(" .,;")
    return ""


def _opens(path: Path, step: Step) -> Iterator[Fault]:
    if step.opens or step.isolates or step.act in _OFF:
        return
    settles = step.closes or step.restores or step.proves or step.disturbs or step.renews
    strong = _STRONG.search(step.say)
    told = strong[0] if settles and strong and not _NOT.search(step.say[: strong.start()]) else ""
    told = told if settles else tells_of_opening(step.say)
    if told:
        message = (
            f"'{told}' tells of something that comes off, and the step opens nothing; name it in `opens`"
        )
        yield OPENS.at(path, message)


def _holes(path: Path, procedure: Procedure, step: Step) -> Iterator[Fault]:
    if step.act not in _OFF:
        return
    items = [procedure.items[name] for name in step.opens]
    ports = [item for item in items if str(item.kind) == "port"]
    for match in _PLUGS.finditer(step.say):
        noun = match[1].lower()
        if not ports and not any(noun in item.name.lower() for item in items):
            message = (
                f"'{match[0]}' tells of an open {noun}, and the step opens no port; declare it and name it"
            )
            yield HOLE.at(path, message)


def _seals(path: Path, procedure: Procedure, position: int, step: Step) -> Iterator[Fault]:
    near = procedure.steps[max(0, position - 2) : position + 3]
    for match in _SEALS.finditer(step.say):
        noun = match[1].lower()
        silent = [one for one in near if one is step or not _SEALS.search(one.say)]
        renewed = [procedure.seals[name] for one in silent for name in one.renews]
        mine = [seal for seal in renewed if noun in f"{seal.name} {_part(procedure, seal.part)}".lower()]
        if not step.renews and not mine:
            message = f"'{match[0]}' tells of a new seal, and the step renews none; name it in `renews`"
            yield NEW_SEAL.at(path, message)
        elif step.renews and all(procedure.seals[name].use is SealUse.INSPECT for name in step.renews):
            message = f"'{match[0]}' is said, and '{step.renews[0]}' may be used again; write `use: single`"
            yield NEW_SEAL.at(path, message)


def _part(procedure: Procedure, id_: str | None) -> str:
    return procedure.parts[id_].name if id_ else ""


def _bolts(path: Path, procedure: Procedure, step: Step) -> Iterator[Fault]:
    renewed = {head(f.what) for s in procedure.steps for f in s.fasteners if f.renew}
    new = _BOLTS.search(step.say)
    if new and new[1].lower() not in renewed:
        message = f"'{new[0]}' is said, and no fastener has `renew: true`; write it at the removal and here"
        yield NEW_BOLT.at(path, message)
    scrap = _SCRAP.search(f"{step.say} {step.more or ''}")
    if scrap and not any(fastener.renew for fastener in step.fasteners) and not new:
        message = f"'{scrap[0]}' is said, and none has `renew: true`; write it here and at the refit"
        yield NEW_BOLT.at(path, message)


def _products(path: Path, procedure: Procedure, step: Step) -> Iterator[Fault]:
    said = _PRODUCT.search(step.say)
    if not said:
        return
    if not step.applies:
        if step.act in (Act.APPLY, Act.FIT, Act.TIGHTEN) and _PUT.search(step.say):
            message = f"'{said[0]}' is put on, and the step has no `applies`; name the product"
            yield PUTS_ON.at(path, message)
        return
    product = procedure.consumables[step.applies.consumable]
    others = [one for one in procedure.consumables.values() if one is not product]
    words = content(f"{product.name} {product.product_class} {step.applies.consumable}")
    if not content(said[0]) & words and any(content(said[0]) & content(one.name) for one in others):
        yield OTHER_PRODUCT.at(path, f"'{said[0]}' is said, and the field has '{product.name}'; one is wrong")
