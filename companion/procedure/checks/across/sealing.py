"""Seals against their joints and their new parts, and new parts against what fits them."""

from collections.abc import Iterator

from companion.procedure.checks.across.refit import Use, uses
from companion.procedure.checks.words.text import content, head
from companion.procedure.fault import Fault, Rule
from companion.procedure.holds.reach import Reach
from companion.procedure.model import Procedure, SealUse
from companion.procedure.order import Order
from companion.procedure.rules.seals import TOO_FEW

INSPECTED = Rule(
    "single-use-inspected",
    "A seal may be looked at and used again, and yet has a new part.",
    "The old one goes back, squashed.",
    "Write `use: single` if the source says so; else take the `part` out.",
)
ELSEWHERE = Rule(
    "joint-not-opened-here",
    "A seal is disturbed where its joint is not open.",
    "The joint that is closed on it is another, and that one is not watched.",
    "Name the joint that this step opens.",
)
OTHER_PART = Rule(
    "part-of-another-seal",
    "A seal has a new part that is named after another.",
    "The wrong ring is fitted.",
    "Name its own part.",
)
NOWHERE = Rule(
    "fitted-nowhere",
    "A single-use part is on the bench and no step fits it.",
    "It is still on the bench when the job is closed, and the old one in the vehicle.",
    "Renew its seal in a step, write `renew: true` for its bolts, or take it out.",
)
TOO_LITTLE = Rule(
    "too-little-fluid",
    "Less fluid is on the bench than the job fills in.",
    "The machine is run short of it.",
    "Raise `count` to what goes in.",
)
_KINDS = frozenset({"ring", "washer", "gasket", "seal", "copper", "pair", "set", "cap", "crush"})
"""Words that say what sort of seal it is, and not which."""


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Seals, parts and fluids."""
    reach = Reach(order)
    for name, seal in procedure.seals.items():
        if seal.use is SealUse.INSPECT and seal.part is not None:
            message = f"may be used again, and has the new part '{seal.part}'; write `use: single`"
            yield INSPECTED.at(("seals", name, "use"), message)
        if seal.part is not None:
            yield from _other_part(procedure, name, seal.part)
        if seal.joint is not None:
            yield from _joint(procedure, order, reach, name, seal.joint)
    yield from _parts(procedure)
    yield from _fluids(procedure)


def _joint(procedure: Procedure, order: Order, reach: Reach, name: str, joint: str) -> Iterator[Fault]:
    for position, step in enumerate(procedure.steps):
        if name not in step.disturbs or joint in step.opens:
            continue
        is_open = not step.opens and any(
            opening.item == joint
            and order.before(opening.step, step.id)
            and not (closer and order.before(closer, step.id))
            for opening, closer in reach.closed_by.items()
        )
        if not is_open:
            opens = f"; it opens {', '.join(step.opens)}" if step.opens else ""
            message = (
                f"disturbs '{name}', whose joint '{joint}' is not open here{opens}; name the right joint"
            )
            yield ELSEWHERE.at(("steps", position, "disturbs", step.disturbs.index(name)), message)


def _other_part(procedure: Procedure, name: str, part: str) -> Iterator[Fault]:
    words = content(f"{procedure.seals[name].name} {name}") - _KINDS
    fits = {id_: len(words & content(f"{one.name} {id_}")) for id_, one in procedure.parts.items()}
    best = max(fits, key=lambda id_: fits[id_])
    if fits[part] < fits[best] and procedure.parts[best].single_use:
        message = f"has the part '{part}', and '{best}' is named after it; name the right one"
        yield OTHER_PART.at(("seals", name, "part"), message)


def _parts(procedure: Procedure) -> Iterator[Fault]:
    sealed = {seal.part for seal in procedure.seals.values()}
    renewed = {words: group for words, group in uses(procedure).items() if any(u.bolt.renew for u in group)}
    say = [content(step.say) for step in procedure.steps]
    for id_, part in procedure.parts.items():
        if not part.single_use or id_ in sealed or _wants_a_part(procedure):
            continue
        words = content(part.name)
        shared = {name: len(name & words) for name in renewed if head(part.name) in name}
        best = max(shared.values(), default=0)
        bolts = [renewed[name] for name, many in shared.items() if many == best]
        if bolts:
            needed = sum(_needed(group) for group in bolts)
            if part.count < needed:
                message = f"{part.count} on the bench, but {needed} are renewed; raise `count`"
                yield TOO_FEW.at(("parts", id_), message)
        elif not any(words <= said for said in say):
            message = (
                f"no step fits '{part.name}', which is used once; renew its seal or bolts, or take it out"
            )
            yield NOWHERE.at(("parts", id_), message)


def _wants_a_part(procedure: Procedure) -> bool:
    """Does a seal lack its part? That is told, and most likely it is this one."""
    return any(seal.part is None and seal.use is SealUse.SINGLE for seal in procedure.seals.values())


def _needed(group: list[Use]) -> int:
    """How many are renewed: once where something is closed with them, however often they are tightened."""
    tightened = [use for use in group if use.tightened]
    closing = sum(use.bolt.count for use in tightened if use.step.closes)
    return closing or max((use.bolt.count for use in tightened), default=0)


def _fluids(procedure: Procedure) -> Iterator[Fault]:
    for step in procedure.steps:
        if not step.measure or step.measure.unit != "L" or step.measure.at_least is None:
            continue
        fluid = content(step.measure.what) - {"filled", "amount"}
        for id_, part in procedure.parts.items():
            each = _litres(part.name)
            if each and fluid & content(part.name) and each * part.count < step.measure.at_least:
                message = (
                    f"{each * part.count:g} L on the bench, and at least {step.measure.at_least:g} L go in"
                )
                yield TOO_LITTLE.at(("parts", id_), f"{message}; raise `count`")


def _litres(name: str) -> float:
    from companion.procedure.checks.words.text import quantities

    return next((said.value for said in quantities(name) if said.unit == "L"), 0.0)
