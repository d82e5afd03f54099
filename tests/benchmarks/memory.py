"""Rehearsals one after another in one process: is what grows a leak, or free memory that the C library keeps?

    python -m tests.benchmarks.memory [--times 8] [--procedure FILE] [--trace]

After each: the resident memory, the same once `malloc_trim` has given back what is free, and the objects of
Python. With `--trace` the bytes that Python holds too (tracemalloc, at a third of the speed), and at the end
the lines that hold more than after the second rehearsal. What is loaded only once is there after the first. A
leak shows in the trimmed memory and in the objects; free memory that is kept shows in neither.
"""

import argparse
import ctypes
import gc
import os
import statistics
import tracemalloc
from pathlib import Path
from tempfile import TemporaryDirectory

from companion.rehearsal.rehearse import Settings, rehearse
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from tests.benchmarks.soak import Unseen

SHORT = Path(__file__).parents[1] / "rehearsal" / "short-job.yaml"
ROW = "{:>4} {:>12} {:>12} {:>10} {:>12}"


def resident() -> float:
    """MB."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--times", type=int, default=8)
    parser.add_argument("--procedure", type=Path, default=SHORT)
    parser.add_argument("--trace", action="store_true")
    options = parser.parse_args()
    if options.trace:
        tracemalloc.start()
    trim = ctypes.CDLL("libc.so.6").malloc_trim
    recogniser = EmbeddedRecogniser()
    second: tracemalloc.Snapshot | None = None
    trimmed: list[float] = []
    print(ROW.format("", "resident MB", "trimmed MB", "objects", "Python MB"))
    for number in range(1, options.times + 1):
        with TemporaryDirectory() as folder:
            kept = Path(folder)
            rehearse(Settings(options.procedure, kept / "logs", kept / "job.wav"), recogniser, Unseen())
        gc.collect()
        before = resident()
        trim(0)
        trimmed.append(resident())
        held = tracemalloc.get_traced_memory()[0] / 1e6
        objects = len(gc.get_objects())
        print(
            ROW.format(number, f"{before:.0f}", f"{trimmed[-1]:.1f}", f"{objects:,}", f"{held:.3f}"),
            flush=True,
        )
        if options.trace and number == 2:
            second = tracemalloc.take_snapshot()
    if len(trimmed) > 3:
        slope = statistics.linear_regression(range(1, len(trimmed)), trimmed[1:]).slope
        print(f"trimmed, from the second on: {slope:+.2f} MB a rehearsal")
    if second:
        for line in tracemalloc.take_snapshot().compare_to(second, "lineno")[:12]:
            print(line)


if __name__ == "__main__":
    main()
