"""A procedure as a project: its steps as activities, with lags for all that one step waits for."""

from collections.abc import Iterable, Iterator, Mapping, Set
from datetime import timedelta

from companion.errors import LabourError
from companion.job.rules.cure import cure_time
from companion.labour.plan.calendar import Split
from companion.labour.plan.project import NOTHING, Activity, Lag, Project
from companion.procedure.holds.holds import holds_of
from companion.procedure.model import Act, Procedure, Step
from companion.procedure.order import Order


def project_of(
    procedure: Procedure,
    times: Mapping[str, timedelta] | None = None,
    *,
    wanted: Set[str] = frozenset(),
    done: Mapping[str, timedelta] | None = None,
    split: Split = Split.BREAKS,
    half_done: bool = False,
    ambient_c: float | None = None,
    humidity: float | None = None,
) -> Project:
    """A procedure, or what is left of it, as a project.

    Args:
        times: how long steps take, by id. Those not named take their book time; waits keep their own.
        wanted: ids of the optional steps to be done. The others are left out, with what depends on them.
        done: ids of steps that are done, with how long ago each was finished.
        split: over what an ordinary step may be left. A step that applies a product, or closes a joint on
            it, is never left.
        half_done: whether a joint may be left half tightened, and a vehicle half raised or lowered.
        ambient_c: the workshop temperature, °C. A cold shop lengthens cures.
        humidity: the relative humidity in the workshop, %. Dry air lengthens cures by moisture.

    Raises:
        LabourError: a wanted step is not an optional step of this procedure, or the lags cannot be kept.
    """
    optional = {step.id for step in procedure.steps if step.optional is not None}
    if unknown := sorted(wanted - optional):
        known = ", ".join(sorted(optional)) or "it has none"
        raise LabourError(
            f"{unknown[0]!r} is not an optional step of {procedure.title!r}; optional are: {known}"
        )
    order = Order(procedure)
    planned = {step.id for step in procedure.steps if order.conditions(step.id) <= wanted}
    behind = {id_: max(ago, NOTHING) for id_, ago in (done or {}).items()}
    waits = _waits(procedure, ambient_c, humidity)
    lags = [lag for lag in _all_lags(procedure, order, planned, waits) if lag.after not in behind]
    activities = []
    for step in order.steps:
        if step.id not in planned or step.id in behind:
            continue
        since = [(lag, -behind[lag.before]) for lag in lags if lag.after == step.id and lag.before in behind]
        limits = [end + lag.most for lag, end in since if lag.most is not None]
        activities.append(
            Activity(
                step.id,
                _duration(step, times or {}),
                step.act is not Act.WAIT,
                Split.NEVER if _stays(procedure, step, half_done) else split,
                max([NOTHING, *(end + lag.least for lag, end in since)]),
                max(NOTHING, min(limits)) if limits else None,
            )
        )
    return Project(tuple(activities), tuple(lag for lag in lags if lag.before not in behind), procedure.title)


def _stays(procedure: Procedure, step: Step, half_done: bool) -> bool:
    """Whether nobody leaves the step before it is done."""
    if step.applies or step.assembles:
        return True
    moved = {step.isolates, step.restores} - {None}
    lifts = any(procedure.energy[id_].source.carries for id_ in moved if id_)
    return not half_done and (lifts or any(f.tightening for f in step.fasteners))


def _duration(step: Step, times: Mapping[str, timedelta]) -> timedelta:
    if step.act is Act.WAIT:
        return step.wait or step.book
    return times.get(step.id, step.book)


def _all_lags(procedure: Procedure, order: Order, planned: Set[str], waits: Iterable[Lag]) -> Iterator[Lag]:
    """The lags between planned steps: order, isolation, cure, skin-over, opening before closing."""
    explicit = dict.fromkeys(
        (before, step.id)
        for step in procedure.steps
        if step.id in planned
        for before in _planned_before(procedure, step.id, planned)
    )
    special = [lag for lag in waits if lag.before in planned and lag.after in planned]
    told = {(lag.before, lag.after) for lag in special}
    yield from special
    for before, after in explicit:
        if (before, after) not in told:
            yield Lag(before, after)
    for before, after in dict.fromkeys(_gates(procedure)):
        known = (before, after) in told or order.before(before, after) or order.before(after, before)
        if before in planned and after in planned and not known:
            yield Lag(before, after)


def _planned_before(procedure: Procedure, step: str, planned: Set[str]) -> Iterator[str]:
    """What comes before a step. In place of a step that is left out stands what comes before that one."""
    for before in procedure.predecessors(step):
        if before in planned:
            yield before
        else:
            yield from _planned_before(procedure, before, planned)


def _waits(procedure: Procedure, ambient_c: float | None, humidity: float | None) -> Iterator[Lag]:
    """Cures, skin-over limits and isolation waits."""
    for step in procedure.steps:
        for starter in step.waits_for:
            applier = procedure.step(procedure.step(starter).assembles or starter)
            if applier.applies:
                product = procedure.consumables[applier.applies.consumable]
                cure = cure_time(product, applier.applies.depth, ambient_c, humidity)
                yield Lag(starter, step.id, cure.wait, because=f"{product.name} cures")
        if step.assembles and (applies := procedure.step(step.assembles).applies):
            product = procedure.consumables[applies.consumable]
            yield Lag(step.assembles, step.id, most=product.skin_over, because=f"{product.name} skins over")
        if step.proves:
            energy = procedure.energy[step.proves]
            for isolator in procedure.steps:
                if isolator.isolates == step.proves and energy.wait:
                    yield Lag(isolator.id, step.id, energy.wait, because=f"{energy.name} comes to rest")


def _gates(procedure: Procedure) -> Iterator[tuple[str, str]]:
    """Pairs (earlier, later) that the gates of the job ask for, whatever order the steps name."""
    steps = procedure.steps
    for number, first in enumerate(steps):
        for second in steps[number + 1 :]:
            if (
                (
                    first.isolates
                    and first.isolates in {second.proves, second.restores, *second.needs_isolated}
                )
                or (first.proves and first.proves in {second.restores, *second.needs_isolated})
                or (second.restores and second.restores in first.needs_isolated)
                or set(first.opens) & set(second.closes)
                or set(first.disturbs) & set(second.renews)
                or any(procedure.seals[seal].joint in second.closes for seal in first.renews)
            ):
                yield first.id, second.id
    holds = holds_of(procedure)
    for waits in (holds.buries, holds.presses):
        for step, openings in waits.items():
            closers = (holds.closed_by[opening] for opening in sorted(openings))
            yield from ((closer, step) for closer in closers if closer is not None)
