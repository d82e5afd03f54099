"""Does anything that can be said, or that can happen to the machine, lead past a gate?

    python -m tests.benchmarks.safety [--sequences 10000] [--seed 1] [--moves 40] [--jobs 60]

Half of the sequences are of the shipped procedures, half of random ones. Random mechanics say random things,
skip steps and leave things out; time passes, clocks are set, the machine sleeps and is started again, the
program is killed between any two events and goes on from its log. A second opinion (`oracle`) that shares no
code with the core watches every event. Ends with 1 when anything is found.
"""

import argparse
import random
import sys
import time
from collections import Counter
from collections.abc import Sequence

from tests.benchmarks.safety.jobs import procedures
from tests.benchmarks.safety.moves import play
from tests.benchmarks.safety.waits import SLACK
from tests.benchmarks.safety.world import starts


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Random jobs, watched by a second opinion")
    parser.add_argument("--sequences", type=int, default=10_000)
    parser.add_argument("--moves", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=60, help="random procedures, beside the shipped ones")
    chosen = parser.parse_args(arguments)
    begun = time.monotonic()
    known = [starts(procedure) for procedure in procedures()]
    stages = [starts(procedure) for procedure in procedures(chosen.jobs)[len(known) :]]
    counts: Counter[str] = Counter()
    found: list[str] = []
    for number in range(chosen.sequences):
        seed = chosen.seed * 1_000_000 + number
        rng = random.Random(seed)
        world = rng.choice(rng.choice(stages if stages and rng.random() < 0.5 else known)).copy()
        try:
            play(world, rng, chosen.moves)
        except Exception as error:
            found.append(f"sequence {seed}: {type(error).__name__}: {error}")
        counts += world.counts
        counts["closed"] += world.oracle.closed
    print(f"{chosen.sequences} sequences of {chosen.moves} moves, {counts.total()} events watched,")
    print(f"{time.monotonic() - begun:.0f} s, seeds {chosen.seed}000000 and on.")
    for what, events in CHECKED.items():
        print(f"  {what}: {sum(counts[event] for event in events)} looked at")
    print(f"  allowed: early by nothing, but {SLACK.total_seconds():g} s for each start of the machine;")
    print(f"           late, and skinned over late, by {SLACK.total_seconds():g} s")
    print(f"{len(found)} sequences were unsafe:" if found else "Nothing unsafe was found.")
    print(*found[:20], sep="\n")
    return 1 if found else 0


CHECKED = {
    "steps begun or moved on, isolated, proved, cured, sealed, and over nothing open": (
        "step_begun",
        "step_done",
        "stage_done",
        "counted",
        "reading_taken",
    ),
    "proofs by a confirmed reading or the right words, after the wait": ("energy_proved",),
    "announcements not early, late ones told once": ("deadline_announced",),
    "deadlines set and not lost": ("deadline_set",),
    "things left out for good, asked back and told why, and taken back": (
        "item_left_out",
        "left_out_taken_back",
    ),
    "steps skipped": ("step_skipped",),
    "jobs closed with nothing open": ("job_closed",),
    "starts of the companion from its log": ("session_started",),
    "clocks set": ("clock_moved",),
}

if __name__ == "__main__":
    sys.exit(main())
