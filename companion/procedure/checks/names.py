"""Every name that is used is declared, once; every name that is declared is used; no ring of steps."""

from collections.abc import Iterator

from companion.procedure.fault import Fault, Path, nearest, suggestion
from companion.procedure.model import Procedure, Step
from companion.procedure.order import find_cycle
from companion.procedure.rules import order as rules


def find(procedure: Procedure) -> Iterator[Fault]:
    """Unknown, repeated and unused names, and the first ring of steps that wait for one another."""
    yield from _repeated(procedure)
    unknown = [*_unknown(procedure)]
    yield from unknown
    yield from _unused(procedure)
    if not unknown and (ring := find_cycle(procedure)):
        where = ("steps", procedure.number(ring[-1]) - 1, "after")
        yield rules.RING.at(
            where, f"steps wait for one another in a ring: {' → '.join(ring)}; take one `after` out"
        )


def _repeated(procedure: Procedure) -> Iterator[Fault]:
    first: dict[str, int] = {}
    for position, step in enumerate(procedure.steps):
        if step.id in first:
            message = f"step id '{step.id}' is already that of step {first[step.id] + 1}; give each its own"
            yield rules.SAME_ID.at(("steps", position, "id"), message)
        first.setdefault(step.id, position)


def references(step: Step) -> Iterator[tuple[Path, str, str]]:
    """Each name that a step uses: path within the step, the section it belongs to, the name."""
    for field, section in (
        ("opens", "items"),
        ("closes", "items"),
        ("leaves_open", "items"),
        ("disturbs", "seals"),
        ("renews", "seals"),
        ("needs_isolated", "energy"),
        ("waits_for", "steps"),
        ("after", "steps"),
    ):
        for position, name in enumerate(getattr(step, field) or ()):
            yield (field, position), section, name
    for field, section in (
        ("isolates", "energy"),
        ("proves", "energy"),
        ("restores", "energy"),
        ("assembles", "steps"),
        ("only_if", "steps"),
    ):
        if (name := getattr(step, field)) is not None:
            yield (field,), section, name
    if step.applies:
        yield ("applies", "consumable"), "consumables", step.applies.consumable


def _all_references(procedure: Procedure) -> Iterator[tuple[Path, str, str]]:
    for position, step in enumerate(procedure.steps):
        for path, section, name in references(step):
            yield ("steps", position, *path), section, name
    for item_id, item in procedure.items.items():
        for place, hider in enumerate(item.reached_through or ()):
            yield ("items", item_id, "reached_through", place), "items", hider
    for seal_id, seal in procedure.seals.items():
        if seal.part is not None:
            yield ("seals", seal_id, "part"), "parts", seal.part
        if seal.joint is not None:
            yield ("seals", seal_id, "joint"), "items", seal.joint


def meant(procedure: Procedure, path: Path) -> str | None:
    """The declared name that was most likely meant by the unknown one at a path."""
    for at, section, name in _all_references(procedure):
        if at == path:
            return nearest(name, _sections(procedure)[section])
    return None


def _sections(procedure: Procedure) -> dict[str, list[str]]:
    return {
        "steps": [step.id for step in procedure.steps],
        "parts": [*procedure.parts],
        "consumables": [*procedure.consumables],
        "energy": [*procedure.energy],
        "items": [*procedure.items],
        "seals": [*procedure.seals],
    }


def _unknown(procedure: Procedure) -> Iterator[Fault]:
    sections = _sections(procedure)
    for path, section, name in _all_references(procedure):
        known = sections[section]
        if name not in known:
            if section == "steps":
                message = f"no step has the id '{name}'"
            else:
                message = f"'{name}' is not declared under `{section}`"
            yield rules.UNKNOWN_NAME.at(
                path, message + (suggestion(name, known) or "; declare it or correct the name")
            )


def _unused(procedure: Procedure) -> Iterator[Fault]:
    """A thing declared and never touched is most likely a step that forgets it.

    Parts are left out: a new pump is put on the bench without any step naming it.
    """
    used = {(section, name) for path, section, name in _all_references(procedure) if path[0] == "steps"}
    for section in ("consumables", "energy", "items", "seals"):
        for name in _sections(procedure)[section]:
            if (section, name) not in used:
                yield rules.UNUSED.at(
                    (section, name), f"no step uses '{name}'; use it in a step or take it out"
                )
