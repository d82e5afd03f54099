"""How many slips `companion check` notices, by kind: `python -m tests.benchmarks.check [--missed] [--seen]`.

Each kind of slip is made wherever it can be in the correct procedures. Half of the kinds were written before
the checks and not looked at while these were built (held out). False alarms are counted on the correct ones.
"""

import argparse
from collections import defaultdict

from tests.procedure.slips.every import all_kinds, found_in, score, shipped


def main() -> None:
    """Print a row a kind, and the sums."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--missed", action="store_true", help="name the copies that were missed")
    asked.add_argument("--seen", action="store_true", help="only the kinds that are not held out")
    asked.add_argument("--every", type=int, default=1, help="only each so many-th copy of a procedure")
    options = asked.parse_args()
    sums: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for kind in sorted(all_kinds(), key=lambda one: (one.held, one.topic)):
        if options.seen and kind.held:
            continue
        got = score(kind, options.every)
        right = got.as_errors if kind.hurts else got.caught
        group = "held out" if kind.held else "seen"
        for name in (group, f"{group}, may hurt" if kind.hurts else f"{group}, harmless", "all"):
            sums[name][0] += got.made
            sums[name][1] += right
            sums[name][2] += got.caught
        mark = "" if right == got.made else "  <--"
        hurts = "hurts" if kind.hurts else ""
        print(f"{right:4}/{got.made:<4} {group:8} {hurts:5} {kind.topic:7} {kind.name}{mark}")
        if options.missed and got.missed:
            print("          missed:", ", ".join(got.missed))
    for name, (made, right, caught) in sorted(sums.items()):
        print(f"{name:20} {right}/{made} as they should be ({right / max(made, 1):.1%}), noticed {caught}")
    alarms = {name: len(found_in(data)) for name, data in shipped().items()}
    print("false alarms on the correct ones:", alarms)


if __name__ == "__main__":
    main()
