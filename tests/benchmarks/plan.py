"""How fast plans are proven: our own search against OR-tools CP-SAT, on the shipped procedures and at random.

python -m tests.benchmarks.plan
"""

import argparse
import random
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path

from companion.errors import LabourError
from companion.labour.plan import cpsat
from companion.labour.plan.calendar import Calendar, Split
from companion.labour.plan.planner import horizon
from companion.labour.plan.project import Activity, Lag, Project
from companion.labour.plan.project_of import project_of
from companion.labour.plan.search import Found, Search
from companion.labour.plan.timing import Timing
from companion.labour.table.hours import Hours
from companion.procedure.read import read_procedure

SHOP = Hours.parse("Mon-Fri 08:00-12:30 13:00-17:00; Sat 08:00-12:00")
MONDAY = datetime(2026, 3, 2, 8, 0)
PROCEDURES = Path(__file__).parents[2] / "procedures"


def shipped(mechanics: int) -> Iterator[tuple[str, Timing]]:
    """Every procedure with all its optional steps."""
    for path in sorted(PROCEDURES.glob("*.yaml")):
        procedure = read_procedure(path)
        wanted = frozenset(step.id for step in procedure.steps if step.optional)
        project = project_of(procedure, wanted=wanted)
        yield (
            f"{path.stem}, {mechanics} at work",
            Timing(project, Calendar(SHOP, MONDAY, horizon(project)), mechanics),
        )


def invented(count: int, number: int) -> Iterator[Timing]:
    """Random networks: some order, some cures, some longest lags, steps of 3 minutes to 3 hours."""
    seed = 0
    while number:
        seed += 1
        rng = random.Random(seed)
        lags, sources = [], set()
        for j in range(count):
            for i in range(max(0, j - 6), j):
                if rng.random() < 0.25:
                    least = rng.choice([0, 0, 0, 0, 30, 240])
                    most = least + rng.choice([20, 60]) if rng.random() < 0.1 else None
                    sources |= {i} if most is not None else set()
                    limit = None if most is None else timedelta(minutes=most)
                    lags.append(Lag(f"a{i}", f"a{j}", timedelta(minutes=least), limit))
        activities = tuple(
            Activity(
                f"a{j}",
                timedelta(minutes=rng.choice([3, 5, 10, 20, 40, 90, 180])),
                rng.random() < 0.9,
                Split.NEVER if j in sources else Split.BREAKS,
            )
            for j in range(count)
        )
        try:
            project = Project(activities, tuple(lags))
        except LabourError:
            continue
        number -= 1
        yield Timing(project, Calendar(SHOP, MONDAY, horizon(project)))


def timed(solve: Callable[[], Found]) -> tuple[Found, float]:
    """The answer and the seconds it took."""
    start = time.perf_counter()
    found = solve()
    return found, time.perf_counter() - start


def _yes(found: Found) -> str:
    return "yes" if found.proven else "no"


def _compared(ours: Found, theirs: Found) -> str:
    if ours.finish == theirs.finish:
        return "same"
    return "own earlier" if ours.finish < theirs.finish else "CP-SAT earlier"


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--limit", type=float, default=10.0, help="seconds for each search")
    parser.add_argument("--networks", type=int, default=10, help="random networks of each size")
    chosen = parser.parse_args()
    print("Shipped procedures             own s  nodes  proven   CP-SAT s  proven  CP-SAT / own  finish")
    for mechanics in (1, 2):
        for name, timing in shipped(mechanics):
            ours, own_s = timed(lambda t=timing: Search(t, chosen.limit).run())
            theirs, cp_s = timed(lambda t=timing: cpsat.solve(t, chosen.limit))
            print(
                f"{name:<30} {own_s:5.2f} {ours.nodes:6d} {_yes(ours):>7} {cp_s:10.2f} {_yes(theirs):>7}"
                f" {cp_s / own_s:12.1f}x  {_compared(ours, theirs)}"
            )
    print(f"\nRandom networks, {chosen.networks} of each size, at most {chosen.limit:g} s each")
    print("steps  own proven  CP-SAT proven  own median s  CP-SAT median s  own finish worse  widest own gap")
    for count in (10, 20, 30, 45):
        rows = []
        for timing in invented(count, chosen.networks):
            ours, own_s = timed(lambda t=timing: Search(t, chosen.limit).run())
            theirs, cp_s = timed(lambda t=timing: cpsat.solve(t, chosen.limit))
            rows.append((ours, own_s, theirs, cp_s))
        middle = len(rows) // 2
        gap = max((o.finish - o.bound) / max(1, o.finish) for o, *_ in rows)
        print(
            f"{count:5d} {sum(o.proven for o, *_ in rows):11d} {sum(t.proven for _, _, t, _ in rows):14d}"
            f" {sorted(s for _, s, _, _ in rows)[middle]:13.3f} {sorted(s for *_, s in rows)[middle]:16.3f}"
            f" {sum(o.finish > t.finish for o, _, t, _ in rows):17d} {100 * gap:14.1f} %"
        )


if __name__ == "__main__":
    main()
