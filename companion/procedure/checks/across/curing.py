"""Products against the time that the work takes, and against what their sort can do."""

import re
from collections.abc import Iterator
from datetime import timedelta

from companion.procedure.checks.cures import starter_of
from companion.procedure.fault import Fault, Path, Rule, advice
from companion.procedure.holds.circuits import acts_on, runs_engine
from companion.procedure.model import Act, ClockStart, Consumable, Procedure, Step
from companion.procedure.order import Order
from companion.procedure.units import short

SKINS = Rule(
    "skins-over-first",
    "A product skins over before the work until the joint is closed can be done.",
    "The joint is closed on a skin, and leaks.",
    "Move what can be done before into steps before, or choose a slower product.",
)
LOADED = Rule(
    "loaded-before-cured",
    "A circuit is filled or run before the cure of its joint was waited for.",
    "The joint is washed out or blown out.",
    "Name the step at which the clock starts in `waits_for` of the first step that fills or runs it.",
)
TOO_FAST = Rule(
    "cures-too-fast",
    "A product of this sort cures more slowly.",
    "It is filled or loaded before it has set.",
    "Compare the time and its unit with the data sheet.",
)
CLOCK = Rule(
    "clock-starts-at-assembly",
    "What cures without air starts when the joint is closed.",
    "The wait is reckoned from too early.",
    "Write `clock_starts: assembly`.",
)
HANDLED = Rule(
    "skins-after-handling",
    "A product could be closed on after it may be handled.",
    "One of the two times is wrong.",
    "Compare both with the data sheet.",
)
ODD_SHOP = advice(
    "reference-temperature",
    "The temperature of the data sheet is none that a workshop has.",
    "Every cure is lengthened far too much, or not at all.",
    "Compare it with the data sheet; most say 23 °C.",
)
DRIED = Rule(
    "waits-too-late",
    "A wait comes after the step that needed it.",
    "Sealant is put on a wet face, or the plug is in before it has drained.",
    "Move the waiting step before that one.",
)
SLOWEST: tuple[tuple[re.Pattern[str], timedelta], ...] = (
    (re.compile(r"silicone|\bRTV\b", re.IGNORECASE), timedelta(hours=1)),
    (re.compile(r"anaerobic|thread ?lock", re.IGNORECASE), timedelta(minutes=30)),
)
"""The shortest full cure of a sort. RTV: 2 to 3 mm in 24 h; anaerobics: 30 min at 120 °C, else 24 h."""


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Products, the steps that put them on, and waits."""
    for name, product in procedure.consumables.items():
        yield from _sort(name, product)
    for position, step in enumerate(procedure.steps):
        if step.applies:
            yield from _in_time(procedure, order, position, step)
            yield from _loaded(procedure, order, step)
        if step.act is Act.WAIT:
            yield from _late(procedure, order, position, step)


def _sort(name: str, product: Consumable) -> Iterator[Fault]:
    path: Path = ("consumables", name)
    about = f"{product.product_class} {product.name}"
    for pattern, least in SLOWEST:
        if pattern.search(about) and timedelta() < product.full_cure < least:
            message = f"{short(product.full_cure)} is too fast for {product.product_class}; look it up"
            yield TOO_FAST.at((*path, "full_cure"), message)
            break
    if SLOWEST[1][0].search(about) and product.clock_starts is ClockStart.APPLICATION:
        message = f"{product.product_class} cures when the joint is closed; write `clock_starts: assembly`"
        yield CLOCK.at((*path, "clock_starts"), message)
    if product.skin_over and product.handling and product.skin_over > product.handling:
        yield HANDLED.at((*path, "skin_over"), "`skin_over` is longer than `handling`; correct one")
    if product.reference_temperature is not None and not 5 <= product.reference_temperature <= 40:
        message = f"{product.reference_temperature:g} °C is no workshop; look at the data sheet"
        yield ODD_SHOP.at((*path, "reference_temperature"), message)


def _in_time(procedure: Procedure, order: Order, position: int, step: Step) -> Iterator[Fault]:
    assert step.applies
    skin = procedure.consumables[step.applies.consumable].skin_over
    for closing in procedure.steps:
        if closing.assembles != step.id or skin is None:
            continue
        between = [
            s for s in procedure.steps if order.before(step.id, s.id) and order.before(s.id, closing.id)
        ]
        work = sum((max(s.book, s.wait or s.book) for s in between), closing.book)
        if work > skin:
            message = (
                f"skins over after {short(skin)}, and until '{closing.id}' has closed the joint "
                f"{short(work)} of work are booked; do the rest before, or take a slower product"
            )
            yield SKINS.at(("steps", position, "applies"), message)


def _loaded(procedure: Procedure, order: Order, step: Step) -> Iterator[Fault]:
    starter = starter_of(procedure, step)
    if starter is None:
        return
    closers = [s for s in procedure.steps if step.id in (s.id, s.assembles)]
    circuits = {procedure.items[name].circuit for s in closers for name in s.closes} - {None}
    waiting = [s.id for s in procedure.steps if starter.id in s.waits_for]
    for position, other in enumerate(procedure.steps):
        acts = acts_on(procedure, other)
        loads = runs_engine(other) or (acts is not None and (not acts or bool(acts & circuits)))
        waited = other.id in waiting or any(order.before(one, other.id) for one in waiting)
        if (
            waiting
            and loads
            and (circuits or runs_engine(other))
            and not waited
            and order.before(starter.id, other.id)
        ):
            message = (
                f"fills or runs what '{starter.id}' closed on a product that has not cured; wait for it here"
            )
            yield LOADED.at(("steps", position, "id"), f"{message}: `waits_for: [{starter.id}]`")


def _late(procedure: Procedure, order: Order, position: int, step: Step) -> Iterator[Fault]:
    said = step.say.lower()
    if re.search(r"\b(?:dry|dries|flash off|evaporate)\b", said):
        cleaned = [s.id for s in procedure.steps if s.act is Act.CLEAN and order.before(s.id, step.id)]
        for other in procedure.steps:
            between = cleaned and order.before(cleaned[-1], other.id) and order.before(other.id, step.id)
            if other.applies and between:
                message = f"lets it dry after '{other.id}' has put the product on; move it before that"
                yield DRIED.at(("steps", position, "id"), message)
    if re.search(r"\bdrain\b", said):
        drains = [s for s in procedure.steps if s.act is Act.DRAIN and order.before(s.id, step.id)]
        opened = {item for s in drains for item in s.opens}
        closed = {item for s in procedure.steps if order.before(s.id, step.id) for item in s.closes}
        if opened and opened <= closed | _ports(procedure, opened - closed):
            message = "lets it drain after what drains it is closed; move it before that"
            yield DRIED.at(("steps", position, "id"), message)


def _ports(procedure: Procedure, still: set[str]) -> set[str]:
    """What of it is open and lets nothing out by itself: the fluid, once its hole is closed."""
    fluids = {name for name in still if str(procedure.items[name].kind) == "fluid"}
    return fluids if still == fluids else set()
