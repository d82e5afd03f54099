"""Who was there, from when to when, and what they did: from the events of job logs, for the payroll.

A session is of whoever it names, or of the one before. From its start to its end somebody is present. In that
time a step is at work (active), a step that is a wait runs (waiting), the job is on hold (interrupted), or
none of these (between steps). Where the companion died, presence ends with the last that it saw. Where the
shop's hours are known, a night in which nothing was said is left out (`hours.py`).

Nobody is in two places: where jobs of one person overlap, each moment counts once, as the first of these.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import IntEnum
from itertools import pairwise

from companion.job.facts import events as ev
from companion.job.facts.folding import at_desk
from companion.labour.table.hours import SHOP_TIME, Hours
from companion.procedure.model import Act


class Doing(IntEnum):
    """What somebody who is present does, what counts most first."""

    ACTIVE = 1
    WAITING = 2
    INTERRUPTED = 3
    BETWEEN = 4


@dataclass(frozen=True)
class Spell:
    """A stretch of one person's time, within one job."""

    person: str
    """As told; empty when not."""
    begin: float
    """Seconds since 1970."""
    end: float
    doing: Doing


def spells(records: Sequence[ev.Record], hours: Hours | None = None) -> Iterator[Spell]:
    """The spells of one job, in order. Talk may be left out of the records."""
    session: list[Spell] = []
    person, there, held, step = "", False, False, ""
    act: str | None = None
    last: ev.Record | None = None
    for record in (r for r in records if not at_desk(r.event)):
        event = record.event
        if last is not None and there:
            length = (record.mono - last.mono).total_seconds()
            if isinstance(event, ev.SessionStarted):  # the companion died
                length = (record.at - last.at).total_seconds() - event.away_s
            begin = last.mono.total_seconds()
            session.append(Spell(person, begin, begin + max(length, 0.0), _doing(held, act)))
        if isinstance(event, ev.SessionStarted) and last is not None:
            yield from _on_the_wall(session, last, hours)
            session = []
        last = record
        match event:
            case ev.JobOpened():
                person = event.mechanic
            case ev.SessionStarted():
                there, person = True, event.mechanic or person
            case ev.SessionEnded():
                there = False
            case ev.JobHeld() | ev.WorkStopped():
                held = True
            case ev.JobCarriedOn() | ev.JobClosed():
                held = False
            case ev.StepBegun():
                step, act = event.step, event.act
            case ev.StepDone() | ev.StepSkipped() | ev.StepNotNeeded() if event.step == step:
                act = None
            case _:
                pass
    if last is not None:
        yield from _on_the_wall(session, last, hours)


def _doing(held: bool, act: str | None) -> Doing:
    if held:
        return Doing.INTERRUPTED
    if act is None:
        return Doing.BETWEEN
    return Doing.WAITING if act == Act.WAIT else Doing.ACTIVE


def _on_the_wall(session: Iterable[Spell], last: ev.Record, hours: Hours | None) -> Iterator[Spell]:
    """The spells of a session by the calendar clock, as that stood at its last record; nights left out.

    Lengths are those of the monotonic clock: a clock that is set makes nobody's day longer.
    """
    ahead = last.at.timestamp() - last.mono.total_seconds()
    for spell in session:
        begin, end = spell.begin + ahead, spell.end + ahead
        for first, second in [(begin, end)] if hours is None else hours.but_nights(begin, end):
            yield Spell(spell.person, first, second, spell.doing)


def in_one_place(found: Iterable[Spell]) -> Iterator[Spell]:
    """The spells of any jobs, person by person, in order of time and without overlaps."""
    of: dict[str, list[Spell]] = {}
    for spell in found:
        if spell.end > spell.begin:
            of.setdefault(" ".join(spell.person.casefold().split()), []).append(spell)
    for these in of.values():
        name = Counter(" ".join(s.person.split()) for s in these).most_common(1)[0][0]
        ends = sorted({moment for s in these for moment in (s.begin, s.end)})
        place = {moment: n for n, moment in enumerate(ends)}
        best: list[Doing | None] = [None] * len(ends)
        for spell in sorted(these, key=lambda s: s.doing, reverse=True):  # what counts most comes last
            for n in range(place[spell.begin], place[spell.end]):
                best[n] = spell.doing
        for (begin, end), doing in zip(pairwise(ends), best, strict=False):
            if doing is not None:
                yield Spell(name, begin, end, doing)


def by_day(found: Iterable[Spell]) -> Iterator[tuple[date, Spell]]:
    """The same, parted at midnight in the shop, each with its day."""
    for spell in found:
        begin = spell.begin
        while begin < spell.end:
            day = datetime.fromtimestamp(begin, SHOP_TIME).date()
            midnight = datetime.combine(day + timedelta(days=1), time(), SHOP_TIME).timestamp()
            end = min(spell.end, midnight)
            yield day, Spell(spell.person, begin, end, spell.doing)
            begin = end
