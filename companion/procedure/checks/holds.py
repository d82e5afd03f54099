"""What may be closed over, filled, bled and run while something is open: said by the file, not guessed."""

from collections.abc import Iterator

from companion.procedure.fault import Fault, Path, nearest, suggestion
from companion.procedure.holds.circuits import (
    acts_on,
    bleeds_by_its_words,
    runs_by_its_words,
)
from companion.procedure.holds.holds import Contradiction, holds_of, leaves_loose
from companion.procedure.holds.reach import Opening, Reach
from companion.procedure.model import Act, Procedure, Signal, Step
from companion.procedure.order import Order
from companion.procedure.rules import holding as rules
from companion.procedure.rules.order import NEVER_ACTED_ON


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Fields that contradict others, and orders of steps that the fields do not explain."""
    yield from _circuits(procedure)
    for position, step in enumerate(procedure.steps):
        yield from _unsaid(("steps", position, "say"), step)
        yield from _never_left(("steps", position, "may_be_left_out"), step)
    reach = Reach(order)
    yield from _not_through(procedure, order, reach)
    yield from _not_open(procedure, order, reach)
    yield from _against_the_order(procedure)


def look(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Circuits that are opened and never filled, bled or run: perhaps a step has another name for it."""
    yield from _misspelt(procedure)
    acted_on = [circuits for step in procedure.steps if (circuits := acts_on(procedure, step)) is not None]
    for name, item in procedure.items.items():
        if item.circuit and not any(not circuits or item.circuit in circuits for circuits in acted_on):
            message = (
                f"no step fills, bleeds or runs '{item.circuit}'; name it in `circuits` of one that does"
            )
            yield NEVER_ACTED_ON.at(("items", name, "circuit"), message)


def _misspelt(procedure: Procedure) -> Iterator[Fault]:
    """A circuit that one thing alone is of, and that is spelt almost like another."""
    of = {("items", name): item.circuit for name, item in procedure.items.items() if item.circuit}
    of |= {("energy", name): one.circuit for name, one in procedure.energy.items() if one.circuit}
    acted_on = {circuit for step in procedure.steps for circuit in step.circuits or ()}
    for path, circuit in of.items():
        others = {other for place, other in of.items() if place != path} | acted_on
        if circuit and circuit not in others and (near := nearest(circuit, others)):
            message = f"nothing else is of the circuit '{circuit}'; did you mean '{near}'?"
            yield rules.CIRCUIT.at((*path, "circuit"), message)


def _circuits(procedure: Procedure) -> Iterator[Fault]:
    """Circuits to which nothing belongs, and things that can belong to none."""
    known = {item.circuit for item in procedure.items.values() if item.circuit}
    known |= {energy.circuit for energy in procedure.energy.values() if energy.circuit}
    for position, step in enumerate(procedure.steps):
        for place, circuit in enumerate(step.circuits or ()):
            if circuit not in known:
                hint = suggestion(circuit, known) or "; write it as their `circuit`, or correct the name"
                yield rules.CIRCUIT.at(
                    ("steps", position, "circuits", place), f"nothing is of the circuit '{circuit}'{hint}"
                )
        if step.act is Act.FILL and step.circuits == ():
            yield rules.CIRCUIT.at(("steps", position, "circuits"), "a filling step fills a circuit; name it")
    for name, item in procedure.items.items():
        if item.circuit and not item.kind.leaks:
            message = f"a {item.kind} lets nothing out; only a port, hose, joint or fluid has a `circuit`"
            yield rules.CIRCUIT.at(("items", name, "circuit"), message)
    for name, energy in procedure.energy.items():
        if energy.circuit and not energy.source.presses:
            message = f"{energy.source} stands in no circuit; take it out, or correct the source"
            yield rules.CIRCUIT.at(("energy", name, "circuit"), message)


def _unsaid(path: Path, step: Step) -> Iterator[Fault]:
    if step.circuits is None and step.act is not Act.FILL and bleeds_by_its_words(step):
        message = "tells of bleeding; write `circuits: [...]` with what is bled, or `[]` if nothing is"
        yield rules.BLEEDING_UNSAID.at(path, message)
    if step.runs_engine is None and runs_by_its_words(step):
        message = "tells of the engine running; write `runs_engine: true`, or `false` if it does not"
        yield rules.RUNNING_UNSAID.at(path, message)


def _never_left(path: Path, step: Step) -> Iterator[Fault]:
    if step.may_be_left_out is None:
        return
    grave = any(hazard.signal is Signal.DANGER for hazard in step.hazards)
    if not (step.closes or step.restores or leaves_loose(step)):
        message = "this step puts nothing back, tightens and fills nothing; take it out"
        yield rules.LEFT_OUT.at(path, message)
    elif step.may_be_left_out and (step.restores or step.proves or step.isolates or grave):
        yield rules.LEFT_OUT.at(path, "a step with energy or DANGER is never left out; take this out")


def _not_through(procedure: Procedure, order: Order, reach: Reach) -> Iterator[Fault]:
    """An item is reached only through what is open before it."""
    for name, item in procedure.items.items():
        mine = [opening for opening in reach.closed_by if opening.item == name]
        around = {other.item for opening in mine for other in reach.around(opening)}
        for place, hider in enumerate(item.reached_through or ()):
            path = ("items", name, "reached_through", place)
            if hider == name:
                yield rules.REACH.at(path, "nothing is reached through itself; take it out")
            elif hider not in around:
                yield rules.REACH.at(
                    path, f"'{hider}' is not surely open before '{name}' is opened; {_openers(reach, hider)}"
                )


def _openers(reach: Reach, item: str) -> str:
    steps = [opening.step for opening in reach.closed_by if opening.item == item]
    return f"open it first ('{steps[0]}'), or take it out" if steps else "take it out"


def _not_open(procedure: Procedure, order: Order, reach: Reach) -> Iterator[Fault]:
    """Only what can be open when a step is done may stay open."""
    for position, step in enumerate(procedure.steps):
        for place, name in enumerate(step.leaves_open):
            path = ("steps", position, "leaves_open", place)
            if name in step.closes:
                yield rules.STAYS_OPEN.at(path, f"this step closes '{name}'; take it out of one of the two")
            elif not any(
                opening.item == name
                and opening.step != step.id
                and not order.before(step.id, opening.step)
                and not (closer and order.before(closer, step.id))
                for opening, closer in reach.closed_by.items()
            ):
                yield rules.STAYS_OPEN.at(path, f"'{name}' is not open when this step is done; take it out")


def _against_the_order(procedure: Procedure) -> Iterator[Fault]:
    """Steps that the order puts first though they should wait: one fault for each thing and kind of wait."""
    buried: dict[Opening, list[Contradiction]] = {}
    pressed: dict[str, list[Contradiction]] = {}
    for one in holds_of(procedure).contradictions:
        if one.ring:
            yield _in_a_ring(procedure, one)
        elif one.hider:
            buried.setdefault(one.opening, []).append(one)
        else:
            pressed.setdefault(one.step, []).append(one)
    for opening, found in buried.items():
        yield _closed_over(procedure, opening, found)
    for step_id, found in pressed.items():
        yield _run_while_open(procedure, procedure.step(step_id), found)


def _closed_over(procedure: Procedure, opening: Opening, found: list[Contradiction]) -> Fault:
    """By the file or the order of taking apart, an item is hidden behind something that is closed first."""
    item, first = opening.item, found[0]
    told = procedure.items[item].reached_through
    closed = f"'{first.step}' closes '{first.hider}' before '{first.closer}' closes '{item}'"
    if first.by != first.hider:
        return rules.BURIED.at(
            ("items", first.by),
            f"{closed}, which is reached through '{first.by}' and so through '{first.hider}': "
            f"close '{item}' first, or say in `reached_through` of '{first.by}' what really hides it",
        )
    if told is not None:
        place = ("items", item, "reached_through", told.index(first.hider))
        return rules.BURIED.at(place, f"{closed}; close '{item}' first, or take '{first.hider}' out")
    still = [name for name in _opened_before(procedure, opening) if name not in {c.hider for c in found}]
    message = (
        f"{closed}, which was opened after it; close '{item}' first, or, if it can still be reached then, "
        f"write what really hides it, such as `reached_through: [{', '.join(still)}]`"
    )
    return rules.BURIED.at(("items", item), message)


def _opened_before(procedure: Procedure, opening: Opening) -> list[str]:
    return [other.item for other in Reach(Order(procedure)).around(opening)]


def _run_while_open(procedure: Procedure, step: Step, found: list[Contradiction]) -> Fault:
    path: Path = ("steps", procedure.number(step.id) - 1, "leaves_open" if step.leaves_open else "id")
    names = list(dict.fromkeys(one.opening.item for one in found))
    circuits = ", ".join(sorted(acts_on(procedure, step) or ())) or "every circuit"
    which = f"'{names[0]}' is" if len(names) == 1 else f"{', '.join(map(repr, names))} are"
    return rules.PRESSED.at(
        path,
        f"acts on {circuits} while {which} open; close it first ('{found[0].closer}'), or write "
        f"`leaves_open: [{', '.join([*step.leaves_open, *names])}]` if it may be",
    )


def _in_a_ring(procedure: Procedure, one: Contradiction) -> Fault:
    item = one.opening.item
    what = f"'{item}', which '{one.closer}' closes" if item else f"'{one.closer}'"
    path: Path = ("steps", procedure.number(one.step) - 1, "id")
    return rules.HELD_IN_A_RING.at(
        path,
        f"must wait for {what}, and that in the end waits for this step; say in `reached_through` and "
        "`leaves_open` what really hides what, or change `after`",
    )
