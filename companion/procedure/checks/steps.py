"""What a step of its kind must say: a spoken state, a torque, a count, a wait."""

import re
from collections.abc import Iterator

from companion.procedure.checks.isolation import limits
from companion.procedure.fault import Fault, Rule
from companion.procedure.model import Act, Procedure, Step
from companion.procedure.order import Order
from companion.procedure.rules import order as rules

_STATE = re.compile(r"[^\W\d_]+(['’-][^\W\d_]+)*( [^\W\d_]+(['’-][^\W\d_]+)*)+")
"""Two or more plain words, so that it is neither a bare "done" nor hard to hear."""


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Faults of single steps, in file order."""
    for position, step in enumerate(procedure.steps):
        own = (*_act(step), *_words(procedure, step), *_condition(procedure, order, step))
        for rule, field, message in own:
            yield rule.at(("steps", position, field), message)
        if step.measure:
            yield from limits(("steps", position, "measure"), step.measure)
    for position, follow_up in enumerate(procedure.follow_ups):
        if follow_up.after is None and follow_up.distance_km is None and follow_up.heat_cycles is None:
            yield rules.FOLLOW_UP.at(
                ("follow_ups", position), "is never due; write `after` or `distance_km`, or both"
            )
        if follow_up.heat_cycles is not None and follow_up.after is None:
            message = "a heat cycle has no date; write in `after` when to ask whether it has been"
            yield rules.FOLLOW_UP.at(("follow_ups", position, "heat_cycles"), message)


def _act(step: Step) -> Iterator[tuple[Rule, str, str]]:
    if not step.book:
        yield rules.NO_BOOK, "book", "book time is nothing; write it like '4 min'"
    if step.act is Act.WAIT and not (step.wait or step.waits_for):
        yield (
            rules.NO_WAIT,
            "act",
            "a waiting step needs a `wait` such as '10 min', or `waits_for` a step that starts a cure",
        )
    if step.wait is not None and step.act is not Act.WAIT:
        yield (
            rules.WAIT_ELSEWHERE,
            "wait",
            f"only the act `wait` has a `wait`; this step's act is `{step.act}`",
        )
    if step.act is Act.ISOLATE and step.isolates is None and step.proves is None:
        yield (
            rules.ACT_NEEDS,
            "act",
            "an isolating step needs `isolates` (or `proves`): the id of the energy source",
        )
    if step.act is Act.RESTORE and step.restores is None:
        yield rules.ACT_NEEDS, "act", "a restoring step needs `restores`: the id of the energy source"
    if step.act is Act.TIGHTEN and not step.fasteners:
        yield rules.ACT_NEEDS, "act", "a tightening step needs `fasteners` with a torque"
    if sum(one is not None for one in (step.isolates, step.proves, step.restores)) > 1:
        yield rules.SPLIT, "act", "isolating, proving and restoring are separate steps; split this one"


def _words(procedure: Procedure, step: Step) -> Iterator[tuple[Rule, str, str]]:
    proved_by_reading = step.proves is not None and (step.measure or procedure.energy[step.proves].prove)
    if step.needs_spoken_state and not (step.state or proved_by_reading):
        what = (
            "proves, isolates or restores energy"
            if step.proves or step.isolates or step.restores
            else "is hazardous"
        )
        yield (
            rules.NO_STATE,
            "id",
            f"a step that {what} needs a spoken `state` such as 'battery disconnected'",
        )
    if step.state is not None and not _STATE.fullmatch(step.state):
        yield rules.STATE_WORDS, "state", f"a state is two or more plain words, not '{step.state}'"
    if step.count is not None and step.each is None:
        yield rules.COUNT_AND_EACH, "count", "`count` needs `each`: what is counted, such as 'stroke'"
    if step.each is not None and step.count is None:
        yield rules.COUNT_AND_EACH, "each", "`each` needs `count`: how many times"


def _condition(procedure: Procedure, order: Order, step: Step) -> Iterator[tuple[Rule, str, str]]:
    if step.only_if is None:
        return
    if procedure.step(step.only_if).optional is None:
        optional = [other.id for other in procedure.steps if other.optional is not None]
        known = f"; optional steps: {', '.join(optional)}" if optional else ""
        yield rules.CONDITION, "only_if", f"'{step.only_if}' is not optional{known}"
    elif not order.before(step.only_if, step.id):
        message = (
            f"need not come after '{step.only_if}', which decides it; name it in the `after` of '{step.id}'"
        )
        yield rules.CONDITION, "only_if", message
