"""Killed at random instants, does the log hold all that was shown and acknowledged?

    python -m tests.benchmarks.kills [--kills 500] [--seed 1]

`companion work` itself, by keys, on a real disk; only its voice is silent. Each process is forked from one
that has loaded the program already, is given a few dozen typed lines, and is killed (SIGKILL) after a random
number of shown lines and a random few milliseconds: while it starts, reads its log, writes, or shows. The
next one goes on with the same job, and every 25 kills a new job is begun. Compared after each kill:

- every whole line shown of what was said or heard stands in the log of that run, as often as it was shown;
- every note said to be noted is in the log, once;
- what was in the log before is still there, byte for byte, and its events are numbered without a gap;
- the job can be worked out from its log.

Ends with 1 when anything differs.
"""

import argparse
import gc
import os
import random
import select
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from companion.cli import main as companion
from companion.work.opening import read_job
from tests.helpers.logs import lines_of

BRAKES = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"
A_JOB = 25
"""Kills of one job."""
LINES = 40
"""Shown lines after which it is killed at the latest."""
PATIENCE = 60.0
"""Seconds without a line after which a run counts as hung."""
MARKS = {">": "said", ">!": "said", ">!!": "said", "<": "heard"}
NOTED = "Noted: "


@dataclass
class Found:
    """What the kills have shown."""

    kills: int = 0
    unstarted: int = 0
    """Killed before the first line."""
    lines: int = 0
    """Shown lines that were looked for in a log."""
    notes: int = 0
    """Notes acknowledged."""
    torn: int = 0
    faults: list[str] = field(default_factory=list)


def kill_often(kills: int, seed: int, folder: Path) -> Found:
    """Begin, kill and go on, so many times."""
    chance, found = random.Random(seed), Found()
    gc.collect()
    gc.freeze()
    logs, before = folder, b""
    for number in range(kills):
        if number % A_JOB == 0:
            logs, before = folder / f"{number:04}", b""
            logs.mkdir()
        typed = _typed(number, chance)
        begun = bool(list((logs / "logs").glob("*.jsonl")))
        shown = _run_and_kill(["--resume"] if begun else [str(BRAKES)], logs, typed, chance)
        found.kills += 1
        found.unstarted += not shown
        before = _compare(logs / "logs", before, shown, found, f"kill {number + 1}")
    return found


def _typed(number: int, chance: random.Random) -> list[str]:
    usual = ["yes", "yes", "battery disconnected", "what torque", "what is open", "help", "undo", "done"]
    lines = []
    for line in range(30):
        lines += [chance.choice(usual), f"note {number} and {line}"]
    return lines


def _run_and_kill(what: list[str], folder: Path, typed: list[str], chance: random.Random) -> list[str]:
    """One run; the whole lines that it showed."""
    typing, keyboard = os.pipe()
    screen, showing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(keyboard)
        os.close(screen)
        _work(what, folder, typing, showing)
    os.close(typing)
    os.close(showing)
    os.write(keyboard, "".join(f"{line}\n" for line in typed).encode())
    shown = _reads(screen, chance.randrange(LINES))
    time.sleep(chance.uniform(0, 0.02))
    os.kill(child, signal.SIGKILL)
    shown += b"".join(iter(lambda: os.read(screen, 1 << 16), b""))
    os.waitpid(child, 0)
    os.close(screen)
    os.close(keyboard)
    return [line.decode() for line in shown.split(b"\n")[:-1]]


def _reads(screen: int, lines: int) -> bytes:
    """What is shown until so many lines are whole."""
    shown = b""
    while shown.count(b"\n") < lines:
        if not select.select([screen], [], [], PATIENCE)[0]:
            raise AssertionError(f"it hangs; it showed {shown.decode()}")
        more = os.read(screen, 1 << 16)
        if not more:
            break
        shown += more
    return shown


def _work(what: list[str], folder: Path, typing: int, showing: int) -> None:
    """In the child: the program as its user starts it, but for its voice."""
    code = 3
    try:
        os.dup2(typing, 0)
        os.dup2(showing, 1)
        sys.stdin, sys.stdout = os.fdopen(0, "r"), os.fdopen(1, "w", encoding="utf-8")
        os.chdir(folder)
        sys.argv = ["companion", "work", *what, "--keys", "--quiet"]
        companion()
        code = 0
    finally:
        os._exit(code)


def _compare(logs: Path, before: bytes, shown: list[str], found: Found, where: str) -> bytes:
    """Add what differs to the faults; the bytes of the log as it is now."""
    files = list(logs.glob("*.jsonl"))
    if not files:
        if _told(shown, "said"):
            found.faults.append(f"{where}: it spoke, and there is no log")
        return b""
    (log,) = files
    data = log.read_bytes()
    whole = data[: data.rfind(b"\n") + 1]
    found.torn += whole != data
    if not whole.startswith(before):
        found.faults.append(f"{where}: what was logged before has changed")
    events = lines_of(log)
    if [event["seq"] for event in events] != list(range(1, len(events) + 1)):
        found.faults.append(f"{where}: the events are not numbered one by one")
    new = events[before.count(b"\n") :]
    for kind, names in {"said": ("said",), "heard": ("heard", "misheard")}.items():
        told = _told(shown, kind)
        found.lines += told.total()
        logged = Counter(event["text"] for event in new if event["event"] in names)
        found.faults += [f"{where}: {kind} and not logged: {text!r}" for text in told - logged]
    notes = Counter(event["text"] for event in events if event["event"] == "note_taken")
    found.faults += [f"{where}: noted {n} times: {text!r}" for text, n in notes.items() if n > 1]
    noted = [
        text.removeprefix(NOTED).removesuffix(".") for text in _told(shown, "said") if text.startswith(NOTED)
    ]
    found.notes += len(noted)
    found.faults += [f"{where}: noted and not logged: {text!r}" for text in noted if text not in notes]
    if whole:
        read_job(log.stem, logs)
    return whole


def _told(shown: list[str], kind: str) -> Counter[str]:
    return Counter(text for mark, text in _marked(shown) if MARKS[mark] == kind)


def _marked(shown: list[str]) -> Iterator[tuple[str, str]]:
    for line in shown:
        mark, _, text = line.strip().partition(" ")
        if mark in MARKS:
            yield mark, text.rpartition(" (")[0] if mark == "<" else text


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        found = kill_often(options.kills, options.seed, Path(folder))
    print(
        f"{found.kills} kills, {found.unstarted} before the first line, in {time.monotonic() - began:.0f} s: "
        f"{found.lines:,} lines shown and {found.notes:,} notes acknowledged, {found.torn} torn last lines; "
        f"{len(found.faults)} differ"
    )
    for fault in found.faults[:20]:
        print(fault)
    return 1 if found.faults or not found.notes else 0


if __name__ == "__main__":
    sys.exit(main())
