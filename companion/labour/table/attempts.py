"""Attempts at steps, from the events of job logs. The rules are in `columns.py`.

A run is the stretch from one `step_begun` to the next. Its step is at work until it is settled. Each interval
between two events belongs to the run it lies in. An interval is active, with two exceptions: the job was held
or stopped, or nobody was there (from the end of a session to the start of the next). A session without an
end means that the companion died. Then what was seen counts as active, and the attempt has a gap. Where the
shop's hours are known, a night in which nothing was said is taken out of either.

Only numbers are folded, and a step is its hash. Words stay in DuckDB and are joined to the result by their
row.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.labour.table.hours import NIGHT, Hours

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Truth = NDArray[np.bool_]

EVENTS = (
    "job_opened", "session_started", "session_ended", "step_begun", "step_done", "step_skipped",
    "step_not_needed", "step_undone", "job_held", "job_carried_on", "work_stopped", "job_closed",
    "note_taken", "note_dropped",
)  # fmt: skip
"""The events that are looked at. The code of an event is its place here, from 1; any other has the code 0."""
_CODE = {name: number for number, name in enumerate(EVENTS, start=1)}
OPENED = _CODE["job_opened"]
_SETTLES = [_CODE["step_done"], _CODE["step_skipped"], _CODE["step_not_needed"]]
_HOLDS = [_CODE["job_held"], _CODE["work_stopped"]]
OUTCOMES = ("done", "skipped", "not_needed", "undone", "unfinished")
_UNDONE, _UNFINISHED = 3, 4


@dataclass(frozen=True)
class Events:
    """n events of whole logs, log by log, in the order of each file."""

    row: Whole
    """The row in which the words of the event are found."""
    log: Whole
    seq: Whole
    code: NDArray[np.int32]
    step: NDArray[np.uint64]
    mono: Array
    """Seconds of the monotonic clock."""
    wall: Array
    """Seconds of the calendar clock."""
    away: Array
    """At the start of a session, how many seconds the companion is known to have been away; else 0."""
    note: Whole
    """The number of the note that is taken or dropped; else -1."""


@dataclass(frozen=True)
class Attempts:
    """a attempts, with i interruptions and k notes that belong to them."""

    row: Whole
    """(a,) The row of the first `step_begun`."""
    began_at: Whole
    attempt: Whole
    """(a,) From 1 within the job and step."""
    active_s: Array
    interrupted_s: Array
    gap: Truth
    outcome: Whole
    """(a,) The place in OUTCOMES."""
    stretch_of: Whole
    """(i,) The attempt that was interrupted."""
    stretch_row: Whole
    """(i,) The row of the hold or stop; -1 when nobody was there."""
    stretch_s: Array
    """(i,) How long it lasted. Those of one attempt are in order of time."""
    note_of: Whole
    """(k,) The attempt during which something was noted."""
    note_row: Whole
    """(k,) The row of the note. Those of one attempt are in order of time."""


def fold(events: Events, hours: Hours | None = None) -> Attempts:
    """All attempts at steps in the logs. Nights outside the shop's hours are left out."""
    n = len(events.log)
    index = np.arange(n)
    start = _starts(events.log)
    begins = events.code == _CODE["step_begun"]
    begun = _latest(begins, start)
    in_run, run, runs = begun >= 0, np.cumsum(begins) - 1, int(begins.sum())
    holding = _latest(np.isin(events.code, [*_HOLDS, _CODE["job_carried_on"]]), start)
    held = (holding >= 0) & (events.code[holding] != _CODE["job_carried_on"])

    settles = in_run & np.isin(events.code, _SETTLES) & (events.step == events.step[begun])
    settled_at = np.full(runs, n)
    settling = np.flatnonzero(settles)[::-1]
    settled_at[run[settling]] = settling  # of several, the first is written last and stays
    at_work = in_run & (index < settled_at[run]) if runs else in_run

    there, away, died = _passed(events, start, hours)
    lost = away + there * held
    working = at_work & ~held
    active = _sums(run[working], there[working], runs)
    interrupted = _sums(run[at_work], lost[at_work], runs)
    gap = np.bincount(run[working & died], minlength=runs)

    first = np.flatnonzero(begins)
    of_run, number, opening = _numbered(events.log[first], events.step[first], settled_at < n)
    attempts = len(opening)
    settled = np.full(attempts, -1)
    settled[of_run[settled_at < n]] = settled_at[settled_at < n]
    outcome = np.where(settled < 0, _UNFINISHED, events.code[settled] - _SETTLES[0])
    beginning = first[opening]
    outcome[_undone(events, beginning, settled)] = _UNDONE

    hit = np.flatnonzero(at_work & (held | (away > 0)))
    hold = np.where(held, holding, -1)[hit]
    _, earliest, stretch = np.unique(run[hit] * (n + 1) + hold + 1, return_index=True, return_inverse=True)
    in_time = np.argsort(earliest)
    hold = hold[earliest]
    noted = np.flatnonzero(at_work & (events.code == _CODE["note_taken"]) & ~_dropped(events))
    return Attempts(
        row=events.row[beginning],
        began_at=events.seq[beginning],
        attempt=number,
        active_s=_sums(of_run, active, attempts),
        interrupted_s=_sums(of_run, interrupted, attempts),
        gap=np.bincount(of_run, gap, attempts) > 0,
        outcome=outcome,
        stretch_of=of_run[run[hit[earliest]]][in_time],
        stretch_row=np.where(hold < 0, -1, events.row[hold])[in_time],
        stretch_s=_sums(stretch.ravel(), lost[hit], len(earliest))[in_time],
        note_of=of_run[run[noted]],
        note_row=events.row[noted],
    )


def _sums(group: Whole, values: Array, groups: int) -> Array:
    """The sum of the values of each group."""
    return np.bincount(group, values, groups).astype(float, copy=False)


def _starts(*keys: NDArray[np.generic]) -> Whole:
    """For each place the first place of its group. A group lies together and has the same keys."""
    n = len(keys[0])
    new = np.zeros(n, bool)
    new[:1] = True
    for key in keys:
        new[1:] |= key[1:] != key[:-1]
    return np.maximum.accumulate(np.where(new, np.arange(n), 0))


def _latest(which: Truth, start: Whole) -> Whole:
    """For each place the latest of `which` in its group, itself included; -1 where there is none yet."""
    latest = np.maximum.accumulate(np.where(which, np.arange(len(which)), -1))
    return np.where(latest >= start, latest, -1)


def _passed(events: Events, start: Whole, hours: Hours | None) -> tuple[Array, Array, Truth]:
    """What passed from each event to the next of its log: seconds somebody was there, seconds away, and
    whether the companion died."""
    following = np.append(start[1:] == start[:-1], False) if len(start) else np.zeros(0, bool)

    def ahead(values: Array) -> Array:
        return np.where(following, np.append(values[1:], 0.0), 0.0) if len(values) else values

    mono_s = np.where(following, np.maximum(ahead(events.mono) - events.mono, 0.0), 0.0)
    wall_s = np.where(following, np.maximum(ahead(events.wall) - events.wall, 0.0), 0.0)
    unseen_s = np.maximum(ahead(events.away), 0.0)
    restarts = ahead(events.code.astype(float)) == _CODE["session_started"]
    ended = events.code == _CODE["session_ended"]
    died = restarts & ~ended
    there = np.where(ended, 0.0, np.where(restarts, np.maximum(wall_s - unseen_s, 0.0), mono_s))
    away = np.where(ended, wall_s, np.where(restarts, np.minimum(unseen_s, wall_s), 0.0))
    if hours is not None:
        long = np.flatnonzero(np.maximum(there, away) >= NIGHT.total_seconds())
        closed = [hours.closed_s(at, at + s) for at, s in zip(events.wall[long], wall_s[long], strict=True)]
        for passed in (there, away):
            passed[long] = np.maximum(passed[long] - closed, 0.0)
    return there, away, died


def _numbered(log: Whole, step: NDArray[np.uint64], settled: Truth) -> tuple[Whole, Whole, Whole]:
    """Which attempt each run belongs to. A run after one that was settled is a new attempt.

    Returns:
        The attempt of each run; and for each attempt its number within the job and step, and its first run.
    """
    order = np.lexsort((step, log))  # stable: the runs of a step stay in order of time
    start = _starts(log[order], step[order])
    before: Whole = np.cumsum(settled[order]) - settled[order]
    earlier: Whole = before - before[start]
    new = _starts(start, earlier) == np.arange(len(order))
    of_run = np.empty(len(order), np.int64)
    of_run[order] = np.cumsum(new) - 1
    number: Whole = 1 + earlier[new]
    return of_run, number, order[new]


def _undone(events: Events, beginning: Whole, settled: Whole) -> Whole:
    """The attempts that were undone: before each `step_undone`, the latest settled one of its step."""
    undoing = np.flatnonzero(events.code == _CODE["step_undone"])
    over = np.flatnonzero(settled >= 0)
    log = np.concatenate([events.log[beginning[over]], events.log[undoing]])
    step = np.concatenate([events.step[beginning[over]], events.step[undoing]])
    when = np.concatenate([settled[over], undoing])
    order = np.lexsort((when, step, log))
    latest = _latest(order < len(over), _starts(log[order], step[order]))
    found = latest[order >= len(over)]
    return over[order[found[found >= 0]]]


def _dropped(events: Events) -> Truth:
    """For each event, whether the note of its number was dropped later."""
    key = events.log * (1 << 32) + events.note
    dropping = (events.code == _CODE["note_dropped"]) & (events.note >= 0)
    return np.isin(key, key[dropping])
