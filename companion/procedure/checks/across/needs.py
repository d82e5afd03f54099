"""Which steps need which source gone: those that open what it stands in, out and home."""

from collections.abc import Iterator

from companion.procedure.checks.alternation import Deed, deeds_on
from companion.procedure.checks.words.text import content
from companion.procedure.fault import Fault, Path, Rule
from companion.procedure.holds.circuits import acts_on, runs_engine
from companion.procedure.model import Act, Item, Procedure, Signal, Step
from companion.procedure.order import Order

CONNECTOR = Rule(
    "connector-live",
    "A connector is parted or joined without the battery proved dead.",
    "It sparks, a fan starts, or a control unit is destroyed.",
    "Name the battery in `needs_isolated`, or do it before it is isolated or after it is back.",
)
PRESSURE = Rule(
    "opened-under-pressure",
    "A circuit is opened without its pressure or heat proved gone.",
    "It sprays or scalds.",
    "Name the source in `needs_isolated`.",
)
ONE_WAY = Rule(
    "needed-one-way",
    "A source must be gone where a thing comes off, and not where it goes on, or the reverse.",
    "One of the two is done under the vehicle, at the spring or at the wire without it.",
    "Name the source in `needs_isolated` of both.",
)
UNDER_ANOTHER = Rule(
    "restored-under-another",
    "A source is brought back before one that was made safe under it.",
    "The second is put back live.",
    "Restore in the reverse order: what was isolated last comes back first.",
)
NO_CURRENT = Rule(
    "run-without-battery",
    "The engine runs while the battery is off.",
    "It cannot; most likely the steps are in the wrong order.",
    "Restore the battery before.",
)
NO_HAZARD = Rule(
    "no-hazard-told",
    "A vehicle is raised or lowered, a spring or pressure let go or an engine run, and no hazard is told.",
    "Nobody is warned where it bites, and a bare 'done' is near.",
    "Write it under `hazards` with DANGER or WARNING.",
)
_STAY = ("battery", "vehicle support", "stored spring", "high voltage", "airbag")
"""Sources that matter when a thing goes on as much as when it comes off."""


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Every source of the job."""
    deeds = deeds_on(order, ("isolates", "proves", "restores"))
    whole = {
        n: d for n, d in deeds.items() if [one.act for one in d[-3:]] == ["isolates", "proves", "restores"]
    }
    for position, step in enumerate(procedure.steps):
        path: Path = ("steps", position)
        yield from _connectors(path, procedure, order, whole, step)
        yield from _circuits(path, procedure, order, whole, step)
        yield from _hazards(path, procedure, step)
        yield from _current(path, procedure, order, whole, step)
    yield from _one_way(procedure, whole)
    yield from _under(procedure, order, whole)


def _sources(procedure: Procedure, whole: dict[str, list[Deed]], *kinds: str) -> list[str]:
    return [name for name in whole if str(procedure.energy[name].source) in kinds]


def _back(order: Order, deeds: list[Deed], step: Step) -> bool:
    """Is the source surely back by then, or is this the step that brings it?"""
    return deeds[-1].step.id == step.id or order.before(deeds[-1].step.id, step.id)


def _not_yet(order: Order, deeds: list[Deed], step: Step) -> bool:
    """Is it surely not isolated yet?"""
    return order.before(step.id, deeds[0].step.id)


def _connectors(
    path: Path, procedure: Procedure, order: Order, whole: dict[str, list[Deed]], step: Step
) -> Iterator[Fault]:
    touched = [name for name in (*step.opens, *step.closes) if str(procedure.items[name].kind) == "connector"]
    for source in _sources(procedure, whole, "battery") if touched else ():
        deeds = whole[source]
        live = _back(order, deeds, step) or _not_yet(order, deeds, step) or step.isolates == source
        if source not in step.needs_isolated and not live:
            message = (
                f"'{touched[0]}' is a connector, and '{source}' need not be dead; name it in `needs_isolated`"
            )
            yield CONNECTOR.at((*path, "id"), message)


def _circuits(
    path: Path, procedure: Procedure, order: Order, whole: dict[str, list[Deed]], step: Step
) -> Iterator[Fault]:
    off = step.act in (Act.REMOVE, Act.DISCONNECT, Act.DRAIN)
    opened = [procedure.items[name] for name in step.opens]
    circuits = {item.circuit for item in opened if item.circuit}
    if not off or not circuits or acts_on(procedure, step) is not None:
        return
    under = [
        name
        for name in whole
        if procedure.energy[name].source.presses
        and procedure.energy[name].circuit in circuits
        and not _back(order, whole[name], step)
    ]
    hot = [
        name
        for name in _sources(procedure, whole, "hot fluid")
        if _is_hot(procedure, name, opened) and not _back(order, whole[name], step)
    ]
    grave = any(str(item.kind) in ("fluid", "joint") for item in opened)
    wanted = [*under, *(hot if grave or any(name in step.needs_isolated for name in under) else ())]
    for name in wanted:
        if name not in step.needs_isolated and step.isolates != name:
            message = f"opens what '{name}' is in and does not need it gone; name it in `needs_isolated`"
            yield PRESSURE.at((*path, "id"), message)


def _is_hot(procedure: Procedure, name: str, items: list[Item]) -> bool:
    """Does the source go by the name of what is opened, or of its circuit?"""
    words = content(f"{name} {procedure.energy[name].name}") - {"hot", "heat"}
    return any(words & content(f"{item.circuit or ''} {item.name}") for item in items)


def _one_way(procedure: Procedure, whole: dict[str, list[Deed]]) -> Iterator[Fault]:
    """A part may be off under one step and on under another of several: then one of them is enough."""
    openers = {item: step for step in procedure.steps for item in step.opens}
    closers = {item: step for step in procedure.steps for item in step.closes}
    for item in openers.keys() & closers.keys():
        if str(procedure.items[item].kind) in ("fluid", "connector"):
            continue
        out, home = openers[item], closers[item]
        for source in _sources(procedure, whole, *_STAY):
            for step, other, others in (
                (home, out, [closers[one] for one in out.opens if one in closers]),
                (out, home, [openers[one] for one in home.closes if one in openers]),
            ):
                needed = source in other.needs_isolated
                if (
                    needed
                    and not any(source in one.needs_isolated for one in others)
                    and _meanwhile(procedure, whole[source], step)
                ):
                    message = (
                        f"'{other.id}' needs '{source}' gone for '{item}', and this step does not; name it"
                    )
                    yield ONE_WAY.at(("steps", procedure.number(step.id) - 1, "id"), message)


def _meanwhile(procedure: Procedure, deeds: list[Deed], step: Step) -> bool:
    """Does the step stand between isolating and restoring, and do neither?"""
    first, last = (procedure.number(deed.step.id) for deed in (deeds[0], deeds[-1]))
    return first < procedure.number(step.id) < last and step.act not in (Act.ISOLATE, Act.RESTORE)


def _under(procedure: Procedure, order: Order, whole: dict[str, list[Deed]]) -> Iterator[Fault]:
    for name, deeds in whole.items():
        for outer in deeds[-3].step.needs_isolated:
            if outer in whole and not order.before(deeds[-1].step.id, whole[outer][-1].step.id):
                back = whole[outer][-1]
                message = (
                    f"brings back '{outer}', under which '{name}' was made safe, and need not wait for "
                    f"'{deeds[-1].step.id}', which brings that back; restore '{name}' first"
                )
                yield UNDER_ANOTHER.at(back.path, message)


def _current(
    path: Path, procedure: Procedure, order: Order, whole: dict[str, list[Deed]], step: Step
) -> Iterator[Fault]:
    if not runs_engine(step):
        return
    for name in _sources(procedure, whole, "battery"):
        deeds = whole[name]
        if not _back(order, deeds, step) and not _not_yet(order, deeds, step):
            message = (
                f"runs the engine, and '{deeds[-1].step.id}', which brings '{name}' back, need not be done"
            )
            yield NO_CURRENT.at((*path, "id"), f"{message}; restore it first")


def _hazards(path: Path, procedure: Procedure, step: Step) -> Iterator[Fault]:
    grave = any(hazard.signal in (Signal.DANGER, Signal.WARNING) for hazard in step.hazards)
    if step.runs_engine and not grave:
        message = "runs the engine and tells of no DANGER or WARNING; write what turns, burns or poisons"
        yield NO_HAZARD.at((*path, "id"), message)
    for name, kinds in (
        (
            step.isolates,
            ("vehicle support", "stored spring", "hydraulic", "cooling pressure", "fuel pressure"),
        ),
        (step.restores, ("vehicle support", "stored spring")),
    ):
        if name and not grave and str(procedure.energy[name].source) in kinds:
            message = f"deals with '{name}' and tells of no DANGER or WARNING; write it under `hazards`"
            yield NO_HAZARD.at((*path, "id"), message)
