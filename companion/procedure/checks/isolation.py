"""Isolation as lock-out practice orders it: isolate, wait, prove, work, restore.

The order is that of OSHA 1910.147(d).
"""

from collections.abc import Iterator

from companion.procedure.checks.alternation import Deed, broken_rounds, deeds_on
from companion.procedure.checks.review_marks import asked
from companion.procedure.fault import Fault, Path
from companion.procedure.model import Asked, Energy, Measure, Procedure
from companion.procedure.order import Order
from companion.procedure.rules import energy as rules
from companion.procedure.unit_table import UNITS

ACTS = ("isolates", "proves", "restores")


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Sources not isolated, proved and restored in turn, and work outside of that."""
    for name, energy in procedure.energy.items():
        yield from _energy(name, energy)
    deeds = deeds_on(order, ACTS)
    dependents = deeds_on(order, ("needs_isolated",))
    for name in procedure.energy:
        broken = broken_rounds(order, name, deeds.get(name, []), ACTS)
        yield from broken
        yield from _proofs(procedure, name, deeds.get(name, []))
        if deeds.get(name) and not broken:
            for dependent in dependents.get(name, []):
                yield from _outside(order, name, dependent, deeds.get(name, []))
            yield from _left_open(order, name, dependents.get(name, []), deeds.get(name, []))


def look(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Sources that are isolated for no step."""
    needed = {name for step in procedure.steps for name in step.needs_isolated}
    for name in procedure.energy:
        if name not in needed and any(step.isolates == name for step in procedure.steps):
            message = f"no step needs '{name}' isolated; name it in `needs_isolated` of the steps that do"
            yield rules.NOT_NEEDED.at(("energy", name), message)


def _energy(name: str, energy: Energy) -> Iterator[Fault]:
    if energy.source.lingers and not energy.wait and not asked(energy.review, Asked.WAIT):
        message = f"{energy.source} needs a `wait`: write the vehicle maker's value, there is no default"
        yield rules.NO_WAIT.at(("energy", name), message)
    if energy.prove:
        yield from limits(("energy", name, "prove"), energy.prove, needed=True)


def limits(path: Path, measure: Measure, *, needed: bool = False) -> Iterator[Fault]:
    """A measure whose limits exclude every value, or that lacks the limits it must have."""
    low, high = measure.at_least, measure.at_most
    if low is not None and high is not None and low > high:
        yield rules.LIMITS.at(path, f"at_least {low:g} is more than at_most {high:g}; no reading can pass")
    if needed and low is None and high is None:
        yield rules.LIMITS.at(path, "a reading without limits proves nothing; write `at_most` or `at_least`")
    if needed and UNITS[measure.unit].dead_when_little and high is None and low is not None:
        yield rules.LIMITS.at(path, f"proving dead by {measure.unit} needs `at_most`, not only `at_least`")


def _proofs(procedure: Procedure, name: str, deeds: list[Deed]) -> Iterator[Fault]:
    energy = procedure.energy[name]
    for deed in deeds:
        step = deed.step
        if deed.act == "proves" and not (energy.prove or step.measure or step.state):
            grave = f"{energy.source} is deadly: " if energy.source.deadly else ""
            message = f"{grave}proving '{name}' needs a reading (`prove` under energy) or a spoken `state`"
            yield rules.NO_PROOF.at(deed.path, message)
        if deed.act == "proves" and energy.prove and step.measure and step.measure != energy.prove:
            message = (
                f"proving '{name}' takes the reading of `prove` under energy, and this step's `measure` is "
                "another; leave the step's out, or make both the same"
            )
            yield rules.OTHER_PROOF.at((*deed.path[:-1], "measure"), message)


def _outside(order: Order, name: str, dependent: Deed, deeds: list[Deed]) -> Iterator[Fault]:
    """The dependent step must lie between a proof and the restoration that follows it."""
    step_id = dependent.step.id
    for proof, restore in zip(deeds[1::3], deeds[2::3], strict=True):
        if order.before(proof.step.id, step_id) and order.before(step_id, restore.step.id):
            if not order.conditions(proof.step.id) <= order.conditions(step_id):
                message = (
                    f"needs '{name}' isolated, but '{proof.step.id}' may not be wanted; "
                    "give both the same `only_if`"
                )
                yield rules.PROOF_NOT_SURE.at(dependent.path, message)
            return
    first_proof, last_restore = deeds[1].step.id, deeds[-1].step.id
    if not order.before(first_proof, step_id):
        message = (
            f"needs '{name}' isolated, but need not come after '{first_proof}', which proves it; "
            f"name '{first_proof}' in the `after` of '{step_id}', or put the step behind it"
        )
        yield rules.PROOF_NOT_SURE.at(dependent.path, message)
    else:
        message = (
            f"needs '{name}' isolated, but '{last_restore}', which restores it, need not wait for this step; "
            f"put '{last_restore}' behind it and name '{step_id}' in the `after` of '{last_restore}'"
        )
        yield rules.RESTORED_EARLY.at(dependent.path, message)


def _left_open(order: Order, name: str, dependents: list[Deed], deeds: list[Deed]) -> Iterator[Fault]:
    """What is opened or disturbed under isolation must be put right by steps before the restoring one."""
    restore = deeds[-1]
    for field, act in (("opens", "closes"), ("disturbs", "renews")):
        under = {thing for deed in dependents for thing in getattr(deed.step, field)}
        for thing, mending in deeds_on(order, (act,)).items():
            last = mending[-1].step.id
            if thing in under and not order.before(last, restore.step.id):
                message = (
                    f"restores '{name}' but need not wait for '{last}', which {act} '{thing}'; "
                    "restore after everything opened under isolation is closed"
                )
                yield rules.RESTORED_EARLY.at(restore.path, message)
