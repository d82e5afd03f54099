"""A product that is applied is assembled in time, and the steps that wait for it wait for the right clock."""

from collections.abc import Iterator

from companion.procedure.fault import Fault
from companion.procedure.model import ClockStart, Procedure, Step
from companion.procedure.order import Order
from companion.procedure.rules import seals as rules


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Cures that no step starts or that start twice, and waits for a step that starts none."""
    yield from _data_sheets(procedure)
    for step in procedure.steps:
        position = procedure.number(step.id) - 1
        if step.assembles is not None:
            yield from _assembles(procedure, order, step, position)
        if step.applies:
            yield from _applies(procedure, step, position)
        for place, awaited in enumerate(step.waits_for):
            yield from _waits(procedure, order, step, ("steps", position, "waits_for", place), awaited)


def look(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Cures that no step waits for, and depths that nothing can be compared with."""
    awaited = {name for step in procedure.steps for name in step.waits_for}
    for position, step in enumerate(procedure.steps):
        if not step.applies:
            continue
        path = ("steps", position, "applies")
        starter = starter_of(procedure, step)
        if starter and not {starter.id, step.id, *closers_on(procedure, step)} & awaited:
            yield rules.NEVER_WAITED_FOR.at(
                path, f"no step waits for this cure; name '{starter.id}' in `waits_for` of one that must"
            )
        consumable = procedure.consumables[step.applies.consumable]
        if step.applies.depth is not None and consumable.reference_depth is None:
            message = f"`depth` is not used: '{step.applies.consumable}' gives no `reference_depth`"
            yield rules.DEPTH_UNUSED.at((*path, "depth"), message)


def closers_on(procedure: Procedure, applying: Step) -> tuple[str, ...]:
    """The steps that close a joint on what is put on."""
    return tuple(step.id for step in procedure.steps if step.assembles == applying.id)


def starter_of(procedure: Procedure, applying: Step) -> Step | None:
    """The step at which the cure clock of what `applying` applies starts: itself, or the assembling one."""
    assert applying.applies
    if procedure.consumables[applying.applies.consumable].clock_starts is ClockStart.APPLICATION:
        return applying
    return next((step for step in procedure.steps if step.assembles == applying.id), None)


def _data_sheets(procedure: Procedure) -> Iterator[Fault]:
    for name, consumable in procedure.consumables.items():
        if not consumable.full_cure:
            yield rules.TIMES.at(
                ("consumables", name, "full_cure"), "is nothing; write the time of the data sheet"
            )
        for field in ("skin_over", "handling"):
            time = getattr(consumable, field)
            if time is not None and time > consumable.full_cure:
                yield rules.TIMES.at(
                    ("consumables", name, field), f"`{field}` is longer than `full_cure`; correct one"
                )


def _assembles(procedure: Procedure, order: Order, step: Step, position: int) -> Iterator[Fault]:
    path = ("steps", position, "assembles")
    applying = procedure.step(step.assembles or "")
    if not applying.applies:
        applied = [other.id for other in procedure.steps if other.applies]
        known = f"; steps that do: {', '.join(applied)}" if applied else ""
        yield rules.ASSEMBLES.at(path, f"'{applying.id}' applies no product{known}")
    elif not order.before(applying.id, step.id):
        yield rules.ASSEMBLES.at(
            path,
            f"need not come after '{applying.id}', which applies the product; "
            f"name '{applying.id}' in the `after` of '{step.id}'",
        )
    elif order.conditions(applying.id) != order.conditions(step.id):
        yield rules.ASSEMBLES.at(
            path, f"is done under another condition than '{applying.id}'; give both the same `only_if`"
        )


def _applies(procedure: Procedure, step: Step, position: int) -> Iterator[Fault]:
    assert step.applies
    path = ("steps", position, "applies")
    consumable = procedure.consumables[step.applies.consumable]
    assembling = [other.id for other in procedure.steps if other.assembles == step.id]
    if len(assembling) > 1:
        yield rules.NOT_ASSEMBLED.at(
            path, f"two steps assemble this: {', '.join(assembling)}; keep one `assembles`"
        )
    if assembling:
        return
    if consumable.skin_over is not None:
        yield rules.NOT_ASSEMBLED.at(
            path, f"'{step.applies.consumable}' skins over, so a step with `assembles: {step.id}` is needed"
        )
    elif consumable.clock_starts is ClockStart.ASSEMBLY:
        message = f"the cure starts at assembly, so a step with `assembles: {step.id}` is needed"
        yield rules.NOT_ASSEMBLED.at(path, message)


def _waits(
    procedure: Procedure, order: Order, step: Step, path: tuple[str | int, ...], awaited: str
) -> Iterator[Fault]:
    other = procedure.step(awaited)
    applying = [one for one in (other, procedure.step(other.assembles or other.id)) if one.applies]
    starters = [starter for one in applying if (starter := starter_of(procedure, one))]
    if not starters:
        yield rules.STARTS_NO_CURE.at(
            path, f"'{awaited}' starts no cure; name a step that applies or assembles a product"
        )
    elif awaited not in (starter.id for starter in starters):
        yield rules.STARTS_NO_CURE.at(
            path, f"the cure starts at '{starters[0].id}', not at '{awaited}'; name that step"
        )
    elif not order.before(awaited, step.id):
        message = f"need not come after '{awaited}'; name '{awaited}' in the `after` of '{step.id}'"
        yield rules.CURE_ORDER.at(path, message)
