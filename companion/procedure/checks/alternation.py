"""What happens to one thing in a job: acts in turn, such as opening and closing, and never only the first."""

from dataclasses import dataclass

from companion.procedure.fault import Fault, Path
from companion.procedure.model import Step
from companion.procedure.order import Order
from companion.procedure.rules import order as rules


@dataclass(frozen=True)
class Deed:
    """A step does one act, such as "opens", to the thing in question."""

    step: Step
    act: str
    path: Path
    """Where the step says so."""


def broken_rounds(order: Order, name: str, deeds: list[Deed], acts: tuple[str, ...]) -> list[Fault]:
    """Faults of the deeds on one thing, which must run through all `acts` in turn, as often as needed.

    Each deed must come surely after the one before it, and none may be optional on its own.
    """
    faults: list[Fault] = []
    expected = 0
    for position, deed in enumerate(deeds):
        previous = deeds[position - 1] if position else None
        if deed.act != acts[expected]:
            return [*faults, _out_of_turn(name, deed, previous, acts[expected])]
        if previous and previous.step.id == deed.step.id:
            message = f"'{deed.step.id}' both {previous.act} and {deed.act} '{name}'; make two steps of it"
            faults.append(rules.BOTH_IN_ONE.at(deed.path, message))
        elif previous and not order.before(previous.step.id, deed.step.id):
            message = (
                f"'{deed.step.id}' {deed.act} '{name}' but need not come after '{previous.step.id}', "
                f"which {previous.act} it; if it does, name that step in the `after` of '{deed.step.id}'"
            )
            faults.append(rules.ORDER_NOT_SURE.at(deed.path, message))
        if previous and expected and order.conditions(previous.step.id) != order.conditions(deed.step.id):
            message = (
                f"'{deed.step.id}' {deed.act} '{name}' under another condition than '{previous.step.id}', "
                f"which {previous.act} it; give both the same `only_if`"
            )
            faults.append(rules.OTHER_CONDITION.at(deed.path, message))
        expected = (expected + 1) % len(acts)
    if expected:
        last = deeds[-1]
        message = f"'{name}': '{last.step.id}' {last.act} it, but no later step {acts[expected]} it; add one"
        faults.append(rules.NEVER_SETTLED.at(last.path, message))
    return faults


def _out_of_turn(name: str, deed: Deed, previous: Deed | None, expected: str) -> Fault:
    if previous is None:
        message = f"'{deed.step.id}' {deed.act} '{name}', but no earlier step {expected} it; add one"
    else:
        message = (
            f"'{deed.step.id}' {deed.act} '{name}' after '{previous.step.id}' {previous.act} it; "
            f"a step that {expected} it must come between"
        )
    return rules.OUT_OF_TURN.at(deed.path, message)


def deeds_on(order: Order, acts: tuple[str, ...]) -> dict[str, list[Deed]]:
    """The deeds on each thing, in an order in which they can be done; `acts` are fields of a step."""
    found: dict[str, list[Deed]] = {}
    for step in order.steps:
        for act in acts:
            value = getattr(step, act)
            for position, name in enumerate((value,) if isinstance(value, str) else value or ()):
                place = ("steps", order.procedure.number(step.id) - 1, act)
                path = place if isinstance(value, str) else (*place, position)
                found.setdefault(name, []).append(Deed(step, act, path))
    return found
