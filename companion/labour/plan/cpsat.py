"""The same project as a model for OR-tools CP-SAT, which comes with the extra `plan`."""

import math
from typing import Any

from companion.errors import LabourError
from companion.labour.plan.search import Found
from companion.labour.plan.timing import Times, Timing


def available() -> bool:
    """Whether OR-tools is installed."""
    from importlib.util import find_spec

    return find_spec("ortools") is not None


def solve(timing: Timing, limit_s: float = 10.0, hint: Times | None = None, workers: int = 2) -> Found:
    """Look for the earliest finish.

    Raises:
        LabourError: OR-tools is not installed.
    """
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        raise LabourError("OR-tools is not installed; install the extra 'plan', or plan without it") from None
    model = cp_model.CpModel()
    beyond = timing.calendar.horizon + 1
    horizon = beyond - 1 if hint is None else max(hint.end, default=0)
    starts: list[Any] = []
    ends: list[Any] = []
    intervals: list[Any] = []
    for i, activity in enumerate(timing.project.activities):
        latest = timing.latest[i]
        earliest = -int(-activity.earliest.total_seconds() // 1)
        start = model.new_int_var(earliest, horizon if latest is None else max(earliest, latest), f"s{i}")
        end = model.new_int_var(0, horizon, f"e{i}")
        starts.append(start)
        ends.append(end)
        if not timing.occupies[i]:
            model.add(end == start + timing.length[i])
            continue
        pieces = [p for p in timing.calendar.pieces(timing.length[i], activity.split) if p[0] <= horizon]
        size = model.new_int_var(timing.length[i], horizon, f"d{i}")
        chosen = [model.new_bool_var(f"p{i}.{k}") for k in range(len(pieces))]
        model.add_exactly_one(chosen)
        for (low, high, pause), here in zip(pieces, chosen, strict=True):
            model.add(start >= low).only_enforce_if(here)
            model.add(start <= high).only_enforce_if(here)
            model.add(size == timing.length[i] + pause).only_enforce_if(here)
        intervals.append(model.new_interval_var(start, size, end, f"i{i}"))
    if timing.mechanics == 1:
        model.add_no_overlap(intervals)
    else:
        model.add_cumulative(intervals, [1] * len(intervals), timing.mechanics)
    for i, followers in enumerate(timing.after):
        for j, least in followers:
            model.add(starts[j] >= ends[i] + least)
        for j, most in timing.limits[i]:
            model.add(starts[i] <= ends[j] + most)
    finish = model.new_int_var(0, horizon, "finish")
    model.add_max_equality(finish, ends or [0])
    model.minimize(finish)
    if hint is not None:
        for i in range(timing.count):
            model.add_hint(starts[i], hint.start[i])
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = limit_s
    solver.parameters.num_workers = workers
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        times = Times([solver.value(s) for s in starts], [solver.value(e) for e in ends])
        best = round(solver.objective_value)
        return Found(
            times,
            best,
            best if status == cp_model.OPTIMAL else math.floor(solver.best_objective_bound + 1e-6),
        )
    return Found(None, beyond, beyond if status == cp_model.INFEASIBLE else 0)
