"""A shift in real time through a real sound server: does anything grow, get lost or come late?

    python -m tests.benchmarks.shift [--minutes 30]

PulseAudio without hardware (see `tests/helpers/sound_server.py`), and `companion work` as its user starts it.
Each round two questions are asked by a synthesiser, and a note, a timer of a minute, and now and then a hold
or an undo are typed. Memory, threads and open files are read from the companion and the processes that it has
started; what is read in the first five minutes is left out, for much is loaded only when it is first wanted.

Ends with 1 when a note or timer is missing or doubled in the log, a timer rang more than two seconds late, or
the events are not numbered one by one; or when the last third has more memory than the first, by more than a
twentieth, or more threads or open files by as much.
"""

import argparse
import os
import statistics
import sys
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from time import monotonic, sleep

from tests.benchmarks.sound_server import ASKED, PROCEDURE, VOICE, Scene, spread
from tests.helpers.logs import lines_of
from tests.helpers.programs import Program
from tests.helpers.sound_server import SoundServer, why_not
from tests.helpers.sounds import Talker

GROWTH = 1.05
WARM = 5.0
"""Minutes."""
LATE = 2.0
"""Seconds."""


@dataclass(frozen=True)
class Look:
    """What the companion and its processes hold at one moment."""

    minutes: float
    """Since the first look."""
    memory: dict[str, float]
    """Resident MB, by what the process is."""
    threads: int
    handles: int


@dataclass
class Shift:
    """What was done, and what it took."""

    looks: list[Look] = field(default_factory=list)
    notes: int = 0
    timers: int = 0
    began: float = field(default_factory=monotonic)

    def look(self, pid: int) -> None:
        memory: dict[str, float] = defaultdict(float)
        threads = handles = 0
        for process in (pid, *_started_by(pid)):
            place = Path("/proc") / str(process)
            status = dict(line.split(":\t", 1) for line in (place / "status").read_text().splitlines())
            words = (place / "cmdline").read_text().split("\0")
            name = next((w.rpartition(".")[2] for w in words if "worker" in w or "process" in w), "")
            memory[name or ("companion" if process == pid else words[0])] += (
                int(status["VmRSS"].split()[0]) / 1e3
            )
            threads += int(status["Threads"])
            handles += len(os.listdir(place / "fd"))
        self.looks.append(Look((monotonic() - self.began) / 60, dict(memory), threads, handles))


def _started_by(pid: int) -> list[int]:
    children = (Path("/proc") / str(pid) / "task").glob("*/children")
    direct = [int(child) for file in children for child in file.read_text().split()]
    return [*direct, *(below for child in direct for below in _started_by(child))]


def work_for(minutes: float, scene: Scene, working: Program) -> Shift:
    """Rounds of questions by voice and other things by keys."""
    shift = Shift()
    end = monotonic() + minutes * 60
    rounds = 0
    while monotonic() < end:
        for n in range(2):
            scene.asks(ASKED[(2 * rounds + n) % len(ASKED)])
        shift.notes += 1
        shift.timers += 1
        working.types(f"note number {shift.notes}", "start a timer for 1 minute")
        if rounds % 5 == 2:
            working.types("hold the job", "a call", "carry on")
        if rounds % 7 == 3:
            working.types("undo")
        scene.hears_it_out()
        working.types("got it")
        scene.hears_it_out()
        shift.look(working.pid)
        rounds += 1
    sleep(75)  # for the last timer
    return shift


def wrong_in(log: Path, shift: Shift) -> list[str]:
    """What is missing, doubled or late."""
    events = lines_of(log)
    wrong = []
    if [e["seq"] for e in events] != list(range(1, len(events) + 1)):
        wrong.append("the events are not numbered one by one")
    notes = [e["text"] for e in events if e["event"] == "note_taken"]
    if notes != [f"number {n + 1}" for n in range(shift.notes)]:
        wrong.append(f"{shift.notes} notes were typed; the log has {notes}")
    timers = [e["deadline"] for e in events if e["event"] == "deadline_set" and e["kind"] == "timer"]
    first = {
        e["deadline"]: e["late_s"] for e in events if e["event"] == "deadline_announced" and e["times"] == 1
    }
    if len(timers) != shift.timers or len({*timers}) != len(timers):
        wrong.append(f"{shift.timers} timers were started; the log has {len(timers)}")
    wrong += [f"{timer} was never told" for timer in timers if timer not in first]
    wrong += [f"{timer} came {first[timer]:.1f} s late" for timer in timers if first.get(timer, 0.0) > LATE]
    print(
        f"{len(timers)} timers, at most {max((first[t] for t in timers if t in first), default=0):.2f} s late"
    )
    return wrong


def grown(looks: list[Look]) -> list[str]:
    """Print how each quantity went, and return what grew."""
    each_five = [
        look for n, look in enumerate(looks) if not n or look.minutes // 5 > looks[n - 1].minutes // 5
    ]
    series_told = (f"{sum(look.memory.values()):.0f}" for look in each_five)
    print(f"memory of all every five minutes, MB: {' '.join(series_told)}")
    looks = [look for look in looks if look.minutes > WARM] or looks
    series = {
        f"memory of {name}, MB": [look.memory.get(name, 0.0) for look in looks] for name in looks[0].memory
    }
    series["memory of all, MB"] = [sum(look.memory.values()) for look in looks]
    series["threads"] = [float(look.threads) for look in looks]
    series["open files"] = [float(look.handles) for look in looks]
    wrong = []
    third = max(1, len(looks) // 3)
    for name, values in series.items():
        first, last = statistics.mean(values[:third]), statistics.mean(values[-third:])
        slope = (
            statistics.linear_regression([look.minutes for look in looks], values).slope
            if len(looks) > 2
            else 0.0
        )
        print(f"{name}: {first:.1f} in the first third, {last:.1f} in the last, {slope * 60:+.2f} an hour")
        if last > first * GROWTH:
            wrong.append(f"{name} grew from {first:.1f} to {last:.1f}")
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--minutes", type=float, default=30)
    options = parser.parse_args()
    if reason := why_not():
        sys.exit(f"nothing is measured: {reason}")
    talker = Talker(VOICE)
    with TemporaryDirectory() as kept, SoundServer(Path(kept) / "pulse") as server:
        work = ("work", PROCEDURE, "--recogniser", "embedded")
        with Program.companion(*work, folder=Path(kept), env=server.env) as working:
            scene = Scene(server, working, talker)
            working.until("Yes or no?")
            scene.hears_it_out()
            working.types("yes", "yes", "yes")
            working.until("Step 1")
            scene.hears_it_out()
            shift = work_for(options.minutes, scene, working)
            lost = "".join(working.shown).count("not played")
            load = os.getloadavg()[0]
            working.hang_up()
            code = working.ends()
        (log,) = (Path(kept) / "logs").glob("*.jsonl")
        counted = scene.counted
        print(f"{options.minutes:g} minutes, load at the end {load:.1f}, ended with {code}")
        print(
            f"{len(counted.tones)} of {counted.asked} questions heard, first word {spread(counted.words)} s"
        )
        print(f"{shift.notes} notes, {lost} sayings lost")
        wrong = [*wrong_in(log, shift), *grown(shift.looks)]
    talker.close()
    for fault in wrong[:20]:
        print(fault)
    print("nothing was lost, doubled, late or grown" if not wrong else f"{len(wrong)} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
