"""A seal that is disturbed is renewed or passed before its joint is closed over it."""

from collections import Counter
from collections.abc import Iterator

from companion.procedure.checks.alternation import Deed, broken_rounds, deeds_on
from companion.procedure.fault import Fault
from companion.procedure.model import Procedure, Seal, SealUse
from companion.procedure.order import Order
from companion.procedure.rules import seals as rules

ACTS = ("disturbs", "renews")


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Seals without a replacement or a joint, not renewed, or renewed after the joint was closed."""
    yield from _replacements(procedure)
    items = deeds_on(order, ("opens", "closes"))
    for name, deeds in deeds_on(order, ACTS).items():
        yield from broken_rounds(order, name, deeds, ACTS)
        joint = procedure.seals[name].joint
        if joint is not None:
            yield from _closed_over(order, name, deeds, joint, items.get(joint, []))


def _replacements(procedure: Procedure) -> Iterator[Fault]:
    for seal_id, seal in procedure.seals.items():
        if seal.use is SealUse.SINGLE:
            yield from _replacement(procedure, seal_id, seal)
    for part_id, needed in Counter(seal.part for seal in procedure.seals.values() if seal.part).items():
        count = procedure.parts[part_id].count
        if count < needed:
            message = f"{count} on the bench, but {needed} seals are renewed with it; raise `count`"
            yield rules.TOO_FEW.at(("parts", part_id), message)


def _replacement(procedure: Procedure, seal_id: str, seal: Seal) -> Iterator[Fault]:
    if seal.part is None:
        yield rules.NO_REPLACEMENT.at(
            ("seals", seal_id), "a single-use seal needs a `part`: the id of its replacement in `parts`"
        )
    elif not procedure.parts[seal.part].single_use:
        yield rules.NO_REPLACEMENT.at(
            ("parts", seal.part), "replaces a single-use seal; write `single_use: true`"
        )
    if seal.joint is None:
        message = "a single-use seal needs a `joint`: the item that must not be closed on the old seal"
        yield rules.NO_JOINT.at(("seals", seal_id), message)


def _closed_over(
    order: Order, name: str, deeds: list[Deed], joint: str, on_joint: list[Deed]
) -> Iterator[Fault]:
    """Between disturbing and renewing a seal no step may close its joint; afterwards one must."""
    closers = [deed for deed in on_joint if deed.act == "closes"]
    for disturbed, renewed in zip(deeds[::2], deeds[1::2], strict=False):
        after = [
            c
            for c in closers
            if c.step.id != disturbed.step.id and not order.before(c.step.id, disturbed.step.id)
        ]
        if not after:
            message = (
                f"no later step closes '{joint}', the joint of '{name}'; close it after the seal is disturbed"
            )
            yield rules.JOINT_NOT_CLOSED.at(disturbed.path, message)
        for closer in after:
            if closer.step.id != renewed.step.id and not order.before(renewed.step.id, closer.step.id):
                message = (
                    f"closes '{joint}' before '{renewed.step.id}' surely renews its seal '{name}'; "
                    "renew it in this step or in one before it"
                )
                yield rules.CLOSED_ON_OLD.at(closer.path, message)
