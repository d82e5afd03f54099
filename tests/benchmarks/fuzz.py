"""Bad input for whatever reads what others wrote: does anything but the typed errors come out of it?

    python -m tests.benchmarks.fuzz [--seconds 30] [--seed 1] [--only NAME] [--keep FOLDER]

Each target of `tests/hostile/targets.py` is fuzzed in a process of its own for so many seconds. With atheris
(`pip install atheris`; no lock names it) libFuzzer is led by the coverage of the program, and half of its
mutations come from `tests/hostile/mutating.py`, which knows a little of what it spoils. Without it all of
them do, and coverage is not known. A finding is an exception that is no typed error, told once for each kind
and place, with the input; `--keep` writes the inputs into a folder. Ends with 1 when there is one, or when a
target ended by itself.
"""

import argparse
import json
import re
import subprocess
import sys
import time
import traceback
from contextlib import nullcontext, suppress
from dataclasses import asdict, dataclass, field
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tests.hostile.targets import Target

ROW = "{:12} {:>10} {:>9} {:>9} {:>9} {:>8}"
HUNG = 30
"""Seconds for one input, after which it counts as a hang."""
LONGEST = 20_000
"""Bytes of an input."""
_COVERED = re.compile(r"cov: (\d+)")


@dataclass(frozen=True)
class Finding:
    """An exception that should not have come out."""

    kind: str
    place: str
    """The last line of the program that it went through."""
    message: str
    data: str
    """The input, in hexadecimal."""


@dataclass
class Run:
    """What came of one target; written down whenever something is found, for it may end the process."""

    report: Path
    executions: int = 0
    refused: int = 0
    slowest_ms: float = 0.0
    written: float = 0.0
    """When it was last written down."""
    found: dict[str, Finding] = field(default_factory=dict)

    def once(self, target: "Target", data: bytes, folder: Path) -> None:
        """Give it one input."""
        from tests.hostile.targets import ALLOWED

        began = time.process_time()
        try:
            target.runs(data, folder)
        except ALLOWED:
            self.refused += 1
        except Exception as error:
            self._keep(error, data)
        self.executions += 1
        self.slowest_ms = max(self.slowest_ms, (time.process_time() - began) * 1000)
        if time.monotonic() > self.written + 0.5:
            self.write()

    def _keep(self, error: Exception, data: bytes) -> None:
        frames = traceback.extract_tb(error.__traceback__)
        own = [f for f in frames if "/companion/" in f.filename] or frames
        place = f"{'/'.join(Path(own[-1].filename).parts[-3:])}:{own[-1].lineno}"
        kind = type(error).__name__
        self.found.setdefault(f"{kind} {place}", Finding(kind, place, str(error)[:200], data.hex()))
        self.write()

    def write(self) -> None:
        self.written = time.monotonic()
        told = {**asdict(self), "report": None, "found": [asdict(one) for one in self.found.values()]}
        self.report.write_text(json.dumps(told))


def inside(name: str, seconds: float, seed: int, report: Path) -> None:
    """In the process of one target."""
    atheris: Any = import_module("atheris") if find_spec("atheris") else None
    with atheris.instrument_imports(include=["companion"]) if atheris else nullcontext():
        from tests.hostile.targets import TARGETS
    target, run = TARGETS[name], Run(report)
    with TemporaryDirectory() as kept, TemporaryDirectory() as corpus:
        folder = Path(kept)
        if not atheris:
            rng, end = Random(seed), time.monotonic() + seconds
            while time.monotonic() < end:
                run.once(target, target.spoilt(rng), folder)
            run.write()
            return
        for number, data in enumerate(target.seeds()):
            (Path(corpus) / f"{number:04}").write_bytes(data)
        run.once(target, target.seeds()[0], folder)  # what is loaded only once is no hang
        run.slowest_ms = 0

        def mutated(data: bytes, most: int, chance: int) -> bytes:
            rng = Random(chance)
            by_bits: bytes = atheris.Mutate(data, most)
            return by_bits if rng.random() < 0.5 else target.spoil(data, rng)[:most]

        options = [
            f"-max_total_time={seconds:.0f}",
            f"-seed={seed}",
            f"-max_len={LONGEST}",
            f"-timeout={HUNG}",
        ]
        atheris.Setup(
            ["fuzz", corpus, *options, "-rss_limit_mb=4096", f"-artifact_prefix={report}."],
            lambda data: run.once(target, data, folder),
            custom_mutator=mutated,
        )
        atheris.Fuzz()  # It ends the process.


def fuzz(name: str, seconds: float, seed: int, keep: Path | None) -> bool:
    """One target in a process of its own; prints a row, and whether all is well."""
    with TemporaryDirectory() as folder:
        report = Path(folder) / "report.json"
        command = (sys.executable, "-m", "tests.benchmarks.fuzz", "--inside", name, "--report", str(report))
        ended = subprocess.run(
            [*command, "--seconds", str(seconds), "--seed", str(seed)],
            stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True, errors="replace", check=False,
            timeout=seconds + 300,
        )  # fmt: skip
        nothing = {"executions": 0, "found": []}
        told: dict[str, Any] = json.loads(report.read_text()) if report.exists() else nothing
        for hung in Path(folder).glob("report.json.*"):
            print(f"{name}: {hung.name.removeprefix('report.json.')}: {hung.read_bytes()[:200]!r}")
    found = [Finding(**one) for one in told["found"]]
    covered = _COVERED.findall(ended.stderr)
    print(ROW.format(
        name, f"{told['executions']:,}", f"{told.get('refused', 0):,}", covered[-1] if covered else "-",
        f"{told.get('slowest_ms', 0):.0f}", len(found),
    ), flush=True)  # fmt: skip
    for number, one in enumerate(found):
        print(f"    {one.kind} at {one.place}: {one.message}\n    {bytes.fromhex(one.data)[:300]!r}")
        if keep:
            keep.mkdir(exist_ok=True)
            (keep / f"{name.replace(' ', '-')}-{number}").write_bytes(bytes.fromhex(one.data))
    if ended.returncode:
        print(f"{name} ended with {ended.returncode}:\n{ended.stderr[-2000:]}")
    return not found and not ended.returncode


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seconds", type=float, default=30, help="for each target")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="targets with this in their name")
    parser.add_argument("--keep", type=Path, help="a folder for the inputs that were found")
    parser.add_argument("--inside", help=argparse.SUPPRESS)
    parser.add_argument("--report", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.inside:
        inside(options.inside, options.seconds, options.seed, options.report)
        return 0
    from tests.hostile.targets import TARGETS

    led = "led by coverage (atheris)" if find_spec("atheris") else "plain mutations: atheris is not installed"
    print(f"{options.seconds:g} s each, {led}")
    print(ROW.format("target", "executed", "refused", "covered", "slowest", "found"))
    well = [
        fuzz(name, options.seconds, options.seed, options.keep) for name in TARGETS if options.only in name
    ]
    return 0 if all(well) else 1


if __name__ == "__main__":
    with suppress(KeyboardInterrupt):
        sys.exit(main())
