"""What a step speaks of, against what its fields are about: sentences that were copied or swapped."""

from collections.abc import Iterator, Mapping

from companion.procedure.checks.words.text import content
from companion.procedure.fault import Fault, Rule
from companion.procedure.model import Act, Procedure, Step
from companion.procedure.order import Order

COPIED = Rule(
    "same-words",
    "Two steps say the same, and one of them opens, closes or secures something else.",
    "The mechanic hears the wrong one, and the ledger believes that the other was done.",
    "Write what is to be done in this step.",
)
OF_ANOTHER = Rule(
    "speaks-of-something-else",
    "The words of a step name nothing that its fields are about.",
    "Something else is done than the ledger believes.",
    "Look whether the sentence or the fields belong to another step; name the thing in the sentence.",
)
MAYBE_ON = Rule(
    "may-not-be-off",
    "A step works on something that is only taken off if it is wanted.",
    "It would be asked of something that is still in its place.",
    "Write `only_if` with the optional step.",
)
_FEWEST = 3
"""Content words; a shorter sentence names nothing and cannot be judged."""


def find(procedure: Procedure, order: Order) -> Iterator[Fault]:
    """Each step against its own things, and against the others."""
    first: dict[str, int] = {}
    speaks = {step.id: content(step.say) for step in procedure.steps}
    partners = _partners(procedure)
    for position, step in enumerate(procedure.steps):
        said = " ".join(step.say.lower().split())
        other = procedure.steps[first.setdefault(said, position)]
        if other is not step and _deeds(other) != _deeds(step) and (_deeds(step) or _deeds(other)):
            message = f"says the same as '{other.id}' and does something else; write what is done here"
            yield COPIED.at(("steps", position, "say"), message)
        elif (step.opens or step.closes) and len(speaks[step.id]) >= _FEWEST:
            about = _about(procedure, step).union(*(speaks[one] for one in partners.get(step.id, ())))
            if not about & speaks[step.id]:
                message = f"names nothing of what the step is about ({', '.join(_deeds(step))}); one is wrong"
                yield OF_ANOTHER.at(("steps", position, "say"), message)
        yield from _maybe_on(procedure, order, position, step)


def _deeds(step: Step) -> tuple[str, ...]:
    ways = (("opens", step.opens), ("closes", step.closes), ("renews", step.renews))
    sources = (("isolates", step.isolates), ("proves", step.proves), ("restores", step.restores))
    found = [f"{way} {name}" for way, names in ways for name in names]
    return (*found, *(f"{way} {name}" for way, name in sources if name))


def _about(procedure: Procedure, step: Step) -> frozenset[str]:
    """Words for the things of a step."""
    items = [f"{name} {procedure.items[name].name}" for name in (*step.opens, *step.closes)]
    seals = [f"{name} {procedure.seals[name].name}" for name in (*step.disturbs, *step.renews)]
    sources = [
        f"{name} {procedure.energy[name].name} {procedure.energy[name].source}"
        for name in (step.isolates, step.proves, step.restores)
        if name
    ]
    proofs = [p.what for name in (step.proves,) if name and (p := procedure.energy[name].prove)]
    bolts = [fastener.what for fastener in step.fasteners]
    own = [step.state or "", step.measure.what if step.measure else ""]
    own += [str(step.act)] if step.act in (Act.FILL, Act.DRAIN) else []
    return content(" ".join([*items, *seals, *sources, *proofs, *bolts, *own]))


def _partners(procedure: Procedure) -> Mapping[str, set[str]]:
    """For a step that closes, proves or restores: those that opened or isolated the same."""
    began: dict[str, set[str]] = {}
    for step in procedure.steps:
        for name in (*step.opens, *((step.isolates,) if step.isolates else ())):
            began.setdefault(name, set()).add(step.id)
    found: dict[str, set[str]] = {}
    for step in procedure.steps:
        ends = (*step.closes, *(one for one in (step.proves, step.restores) if one))
        found[step.id] = {other for name in ends for other in began.get(name, ())}
    return found


def _maybe_on(procedure: Procedure, order: Order, position: int, step: Step) -> Iterator[Fault]:
    if order.conditions(step.id) or step.opens or step.closes:
        return
    for name, item in procedure.items.items():
        openers = [one for one in procedure.steps if name in one.opens]
        if not openers or not all(order.conditions(one.id) for one in openers):
            continue
        own = content(item.name) - content(
            " ".join(other.name for id_, other in procedure.items.items() if id_ != name)
        )
        after = any(order.before(one.id, step.id) for one in openers)
        if (
            after
            and own
            and own & content(step.say)
            and str(step.act) in ("clean", "fit", "apply", "tighten")
        ):
            message = (
                f"works on '{name}', which comes off only if '{openers[0].id}' is wanted; write `only_if`"
            )
            yield MAYBE_ON.at(("steps", position, "say"), message)
