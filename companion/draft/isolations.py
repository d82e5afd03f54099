"""What is made safe before the work, and brought back after it, in turn."""

from collections.abc import Sequence

from companion.draft.course_of_work import Safe
from companion.draft.home import tighten_on_the_ground
from companion.draft.safe import Source
from companion.draft.sheet import Data, Sheet, ask, duration, fastener, held_by, sentence, step_of
from companion.draft.words import counted
from companion.outline.deed import Deed

RAISED = "vehicle support"


def isolate(sheet: Sheet, safe: Safe, source: Source, before: Sequence[Deed]) -> None:
    """Make a source safe and prove it. `before` is what is slackened before the vehicle is raised."""
    sheet.data["energy"][source.id] = _energy(safe, source)
    step = step_of(f"isolate-{source.id}", "isolate", source.isolate, source.minutes[0])
    step |= {"isolates": source.id, "state": source.isolated}
    if source.danger:
        step["hazards"] = [{"signal": "DANGER", **source.danger}]
    if safe.source == RAISED and before:
        _slackened_first(step, before)
    if safe.deed is None:
        told = f"The outline does not say so: is {source.name} made safe like this before the {safe.why}?"
        ask(step, told, "energy")
    elif safe.deed.note:
        step["more"] = sentence(safe.deed.note)
    sheet.add(step)
    prove = step_of(f"prove-{source.id}", "verify", source.prove, source.minutes[1])
    sheet.add(prove | {"proves": source.id} | ({"state": source.proved} if source.proved else {}))


def _energy(safe: Safe, source: Source) -> Data:
    energy: Data = {"name": source.name, "source": source.kind}
    told = safe.deed.minutes if safe.deed else None
    if told:
        energy["wait"] = duration(told)
    elif source.lingers:
        how_long = f"How long after that must {source.name} be left before it is proved? The maker says."
        ask(energy, how_long, "wait", dangerous=True)
    if source.reading:
        energy["prove"] = dict(source.reading)
    if source.circuit and source.presses:
        energy["circuit"] = source.circuit
    return energy


def _slackened_first(step: Data, before: Sequence[Deed]) -> None:
    held = [one for deed in before for one in held_by(deed)]
    step["say"] = f"Slacken {' and '.join(counted(*one) for one in held)}. {step['say']}"
    step["fasteners"] = [fastener(*one, step, going_in=False) for one in held]


def restore(sheet: Sheet, sources: Sequence[Source], before: Sequence[Deed]) -> None:
    """Bring everything back, the last first; what was slackened on the ground is tightened there."""
    for source in reversed(sources):
        step = step_of(f"restore-{source.id}", "restore", source.restore, source.minutes[2])
        if source.danger_back:
            step["hazards"] = [{"signal": "WARNING", **source.danger_back}]
        sheet.add(step | {"restores": source.id, "state": source.restored})
        if source.row == RAISED:
            for deed in before:
                tighten_on_the_ground(sheet, deed)
