"""What each command loads, and what its start costs beside Python's own.

    python -m tests.benchmarks.installed.imports [--times 5]

Processor time of a whole process, the median of so many: of Python with nothing to do, of the help, and of
each command at its task on the logs that come along. Beside it the heavy libraries that it loaded; see
`companion/extras.py` for those that a light install has not.
"""

import argparse
import os
import statistics
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from companion.extras import MODULES

ROOT = Path(__file__).parents[3]
BRAKES = str(ROOT / "procedures" / "front-brakes.yaml")
GOLDEN = ("--logs", str(ROOT / "logs" / "golden"))
HEAVY = sorted(
    {*(m for modules in MODULES.values() for m in modules), "vosk", "ibis", "ortools", "pandas", "scipy"}
    | {"icalendar", "pydantic", "rich", "ruamel", "num2words", "apscheduler", "espeakng_loader", "pint"}
)
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("--help",),
    ("work", "--help"),
    ("work", BRAKES, "--keys", "--quiet", "--plain"),
    ("check", BRAKES),
    ("phrases",),
    ("models",),
    ("procedures",),
    ("jobs", *GOLDEN),
    ("due", *GOLDEN),
    ("due", *GOLDEN, "--ics", "due.ics"),
    ("licences",),
    ("times", *GOLDEN),
    ("quote", BRAKES, *GOLDEN),
    ("plan", BRAKES, "--start", "2031-06-02T08:00", *GOLDEN),
    ("report", *GOLDEN, "--out", "report.html"),
)
RUN = f"""
import atexit, sys
atexit.register(lambda: print("LOADED", *[name for name in {HEAVY} if name in sys.modules], file=sys.stderr))
sys.argv[0] = "companion"
from companion.cli import main
main()
"""


def cost(program: list[str], folder: str) -> tuple[float, str]:
    """Seconds of processor, and what the process wrote to its standard error."""
    before = os.times()
    done = subprocess.run(program, cwd=folder, input="yes\n", capture_output=True, text=True, check=False)
    after = os.times()
    seconds = after.children_user + after.children_system - before.children_user - before.children_system
    return seconds, done.stderr


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--times", type=int, default=5)
    times = parser.parse_args().times
    with TemporaryDirectory() as folder:
        bare = statistics.median(cost([sys.executable, "-c", "pass"], folder)[0] for _ in range(times))
        print(f"| command | ms | loads |\n|---|---|---|\n| Python alone | {1000 * bare:.0f} | |")
        for words in COMMANDS:
            runs = [cost([sys.executable, "-c", RUN, *words], folder) for _ in range(times)]
            loaded = runs[-1][1].rpartition("LOADED")[2].split()
            shown = " ".join(Path(word).name for word in words if word not in GOLDEN)
            milliseconds = 1000 * statistics.median(seconds for seconds, _ in runs)
            print(f"| `{shown}` | {milliseconds:.0f} | {', '.join(loaded)} |")


if __name__ == "__main__":
    main()
