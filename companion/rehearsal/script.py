"""What the rehearsed mechanic does beside the work itself: questions, notes, a timer, a hold overnight.

A script is a YAML list; each entry names a step and what happens once that step has been read:

    - at: drain-oil
      say: what size
    - at: fit-sump
      away: 16 h
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from companion.errors import ProcedureError
from companion.procedure.model import Procedure
from companion.procedure.read import read_list
from companion.procedure.units import parse_duration


@dataclass(frozen=True)
class Cue:
    """One thing to do at a step; exactly one of the two."""

    at: str
    """A step id."""
    say: str | None = None
    away: timedelta | None = None
    """Hold the job, go away for so long, carry on."""


def usual_script(procedure: Procedure) -> list[Cue]:
    """A script for any procedure: a bit of everything that can be said."""
    return list(_usual(procedure))


def _usual(procedure: Procedure) -> Iterator[Cue]:
    steps = procedure.steps
    yield Cue(steps[0].id, say="repeat")
    with_fasteners = [s for s in steps if s.fasteners]
    if with_fasteners:
        yield Cue(with_fasteners[0].id, say="what size")
        yield Cue(with_fasteners[0].id, say="how many")
    tightening = [s for s in steps if any(f.tightening for f in s.fasteners)]
    if tightening:
        yield Cue(tightening[0].id, say="what torque")
    explained = [s for s in steps if s.more]
    if explained:
        yield Cue(explained[0].id, say="more")
    middle = steps[len(steps) // 2].id
    yield Cue(middle, say="what is open")
    yield Cue(middle, say="note the bracket is cracked on the left")
    yield Cue(middle, say="how long left")
    plain = [
        s for s in steps if not s.needs_spoken_state and s.wait is None and not s.applies and not s.assembles
    ]
    if len(plain) > 8:
        yield Cue(plain[6].id, say="start a timer for ten minutes")
        yield Cue(plain[-2].id, away=timedelta(hours=15))


def read_script(path: Path, procedure: Procedure) -> list[Cue]:
    """A script of the user's own.

    Raises:
        ProcedureError: the file cannot be used; the message says where and why.
    """
    entries = read_list(path)
    return [_cue(path, number, entry, procedure) for number, entry in enumerate(entries, start=1)]


def _cue(path: Path, number: int, entry: object, procedure: Procedure) -> Cue:
    where = f"{path}: entry {number}"
    if not isinstance(entry, dict) or "at" not in entry or set(entry) - {"at"} not in ({"say"}, {"away"}):
        raise ProcedureError(f"{where}: write 'at' with a step id, and either 'say' or 'away'")
    ids = [step.id for step in procedure.steps]
    if entry["at"] not in ids:
        raise ProcedureError(f"{where}: there is no step {entry['at']!r} in {procedure.title}")
    if "say" in entry:
        return Cue(entry["at"], say=str(entry["say"]))
    try:
        return Cue(entry["at"], away=parse_duration(str(entry["away"])))
    except ValueError as error:
        raise ProcedureError(f"{where}: {error}") from error
