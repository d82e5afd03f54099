"""Fasteners on their way: taken out in one step and put back in another, the same ones."""

from collections.abc import Iterator
from dataclasses import dataclass

from companion.procedure.checks.review_marks import asked
from companion.procedure.checks.words.sides import PAIRS, only_side
from companion.procedure.checks.words.text import content, same
from companion.procedure.checks.words.torques import ratio
from companion.procedure.fault import Fault, Path, Rule, advice
from companion.procedure.model import Act, Asked, Fastener, Procedure, Step
from companion.procedure.order import Order
from companion.procedure.units import Torque

THREAD = Rule(
    "thread-changes",
    "The same fasteners have another thread when they are put back.",
    "One of the two is wrong, and perhaps the torque with it.",
    "Measure the thread, and write the same in both.",
)
HEAD = advice(
    "head-changes",
    "The same fasteners have another head when they are put back.",
    "The wrong spanner is fetched.",
    "Look at the head, and write the same in both.",
)
COUNT = Rule(
    "count-changes",
    "Another number is put back than was taken out.",
    "One is left over in the bag.",
    "Count them, and write the same in both.",
)
LOST = Rule(
    "torque-lost",
    "Fasteners that were undone are never tightened to a torque.",
    "They are tightened by feel, and nothing is logged.",
    "Write `torque` or `stages` from the source where they are put back, whatever the act of that step.",
)
RENEW = Rule(
    "renew-lost",
    "Fasteners that must be new are put back without asking for new ones.",
    "Stretched bolts go back in.",
    "Write `renew: true` at the refit too.",
)
RENEW_AT_REMOVAL = advice(
    "renew-at-removal",
    "Fasteners that must be new are not marked so where they come out.",
    "They are bagged and mixed with the new ones.",
    "Write `renew: true` at the removal too.",
)
SIDES = Rule(
    "sides-differ",
    "The same fasteners have another torque on the other side.",
    "One of the two is wrong.",
    "Look the torque up, and write the same on both sides.",
)
BAG = advice(
    "one-bag-for-two",
    "Two kinds of fasteners are in one bag at the same time.",
    "They are mixed up.",
    "Give each a bag of its own.",
)
_DRIVES = ("hex", "socket_hex", "six_lobe", "driver")


@dataclass(frozen=True)
class Use:
    """Fasteners of one name, in one step."""

    path: Path
    step: Step
    bolt: Fastener

    @property
    def tightened(self) -> bool:
        """Does this step tighten them to something?"""
        return bool(self.bolt.tightening)

    @property
    def final(self) -> float:
        """N·m in the end; 0 when it is not by torque."""
        return max((s.newton_metres for s in self.bolt.tightening if isinstance(s, Torque)), default=0.0)


def uses(procedure: Procedure) -> dict[frozenset[str], list[Use]]:
    """Every use of fasteners, by the words of their name."""
    found: dict[frozenset[str], list[Use]] = {}
    for position, step in enumerate(procedure.steps):
        for place, bolt in enumerate(step.fasteners):
            use = Use(("steps", position, "fasteners", place), step, bolt)
            found.setdefault(content(bolt.what), []).append(use)
    return found


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Each name's uses, in the order of the file."""
    every = uses(procedure)
    for group in every.values():
        yield from _changes(group)
        yield from _counts(group)
        yield from _lost(procedure, group)
        yield from _renewed(group)
        yield from _sides(group)
    yield from _bags(order, [use for group in every.values() for use in group])


def _changes(group: list[Use]) -> Iterator[Fault]:
    first = group[0]
    for use in group[1:]:
        one, other = first.bolt.thread, use.bolt.thread
        if one and other and one != other:
            message = f"{other} here and {one} in '{first.step.id}', of the same {use.bolt.what}; measure it"
            yield THREAD.at((*use.path, "thread"), message)
        for drive in _DRIVES:
            size, before = getattr(use.bolt, drive, None), getattr(first.bolt, drive, None)
            if size is not None and before is not None and size != before:
                message = (
                    f"{size} here and {before} in '{first.step.id}', of the same {use.bolt.what}; look at it"
                )
                yield HEAD.at((*use.path, drive), message)


def _counts(group: list[Use]) -> Iterator[Fault]:
    out: Use | None = None
    back: list[Use] = []
    for use in [*group, None]:
        if use is not None and use.tightened:
            back.append(use)
            continue
        if out and back:
            yield from _back(out, back)
            out, back = None, []
        if use is not None:
            if out and out.bolt.count != use.bolt.count and not _loosens(out):
                yield _other_count(use, out)
            out = use


def _loosens(use: Use) -> bool:
    """Some of them may come out first and the rest later."""
    return bool(use.step.opens)


def _back(out: Use, back: list[Use]) -> Iterator[Fault]:
    if sum(use.bolt.count for use in back) == out.bolt.count:
        return
    for use in back:
        if use.bolt.count != out.bolt.count:
            yield _other_count(use, out)


def _other_count(use: Use, out: Use) -> Fault:
    path = (*use.path, "count") if use.bolt.count > 1 else use.path
    message = f"{use.bolt.count} {use.bolt.what} here, and {out.bolt.count} in '{out.step.id}'; count them"
    return COUNT.at(path, message)


def _lost(procedure: Procedure, group: list[Use]) -> Iterator[Fault]:
    last = group[-1]
    told_already = last.step.act is Act.TIGHTEN
    asked_for = any(asked(use.step.review, Asked.TORQUE) for use in group)
    if last.tightened or told_already or asked_for or not any(use.bolt.thread for use in group):
        return
    words = content(last.bolt.what)
    after = procedure.steps[procedure.number(last.step.id) - 1 :]
    if any("hand" in content(s.say) and words <= content(s.say) for s in after):
        return
    undone = next((use for use in reversed(group) if not use.tightened), last)
    yield LOST.at(
        undone.path, f"no later step tightens the {last.bolt.what} to a torque; write it where they go back"
    )


def _renewed(group: list[Use]) -> Iterator[Fault]:
    new = [use for use in group if use.bolt.renew]
    for use in group if new else ():
        if use.bolt.renew:
            continue
        message = f"'{new[0].step.id}' has `renew: true` for the {use.bolt.what}; write it here too"
        yield (RENEW if use.tightened else RENEW_AT_REMOVAL).at(use.path, message)


def _sides(group: list[Use]) -> Iterator[Fault]:
    for number, use in enumerate(group):
        for other in group[:number]:
            opposite = _side(use.step) and _side(other.step) and _side(use.step) != _side(other.step)
            tightened = use.final and other.final and use.bolt.thread == other.bolt.thread
            if opposite and tightened and not same(use.final, other.final):
                message = (
                    f"{use.final:g} N·m here and {other.final:g} N·m in '{other.step.id}', of the same "
                    f"{use.bolt.what}{ratio(use.final, other.final)}; look up which is right"
                )
                yield SIDES.at((*use.path, "stages" if use.bolt.stages else "torque"), message)


def _side(step: Step) -> str:
    return only_side(" ".join([step.id, *step.closes, step.say]), PAIRS[0])


def _bags(order: Order, every: list[Use]) -> Iterator[Fault]:
    in_bag: dict[str, list[Use]] = {}
    refits: dict[str, list[Use]] = {}
    for use in every:
        if use.tightened:
            refits.setdefault(use.bolt.what, []).append(use)
    for use in every:
        if not use.bolt.bag or use.tightened:
            continue
        for other in in_bag.setdefault(use.bolt.bag.lower(), []):
            back = refits.get(other.bolt.what, ())
            emptied = any(order.before(one.step.id, use.step.id) for one in back)
            if other.step is not use.step and not emptied:
                message = f"'{use.bolt.bag}' has the {other.bolt.what} of '{other.step.id}' too; take another"
                yield BAG.at((*use.path, "bag"), message)
                break
        in_bag[use.bolt.bag.lower()].append(use)
