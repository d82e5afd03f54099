"""A long shift at high speed: does anything grow, get lost, come twice or come late?

    python -m tests.benchmarks.soak [--hours 8] [--an-hour 500] [--seed 1]

The real session, log on a real disk, mouth, waker and job; only time is staged. A mechanic works through the
shipped procedures one after the other, answers what is asked, says odd things, types rubbish, starts timers,
takes notes, undoes and holds, and is restarted now and then. Ends with 1 when anything was lost, doubled or
missed, or when memory, threads or open files grow by more than a twentieth from the first third to the last.
"""

import argparse
import gc
import os
import random
import statistics
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.deadlines import Kind
from companion.job.facts.folding import replay
from companion.job.facts.sayings import Saying
from companion.job.facts.state import State
from companion.logbook.recover import read_log
from companion.rehearsal.obliging import next_answer
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.samples import RATE
from companion.work.edges.clock import StagedClock
from companion.work.edges.wake import StagedWaker
from companion.work.inbox import Typed
from companion.work.keys import understood
from companion.work.opening import OpenJob, Particulars, new_job, resume_job
from companion.work.session import Edges, Session
from tests.helpers.said import heard

PROCEDURES = sorted((Path(__file__).parents[2] / "procedures").glob("*.yaml"))
LATE = timedelta(seconds=2)
"""A reminder announced later than this after it was due counts as missed: the waker is asked each second."""
GROWTH = 1.05
RUBBISH = ("", "asdf", "note", "twelve volts", "25 n m", "\x00\x1b[2J", "cancel", "3", "x" * 400, "완료")
ASIDE = (Command.UNDO, Command.HELP, Command.WHAT_IS_OPEN, Command.GOT_IT)


class Unseen:
    """A view that shows nothing."""

    def heard(self, message: msg.Message) -> None: ...
    def said(self, saying: Saying) -> None: ...
    def show(self, state: State, now: datetime) -> None: ...
    def warn(self, text: str) -> None: ...
    def tell(self, text: str) -> None: ...
    def typing(self, text: str) -> None: ...
    def close(self) -> None: ...


@dataclass
class Shift:
    """One mechanic, one job after the other, time as told."""

    logs: Path
    rng: random.Random
    clock: StagedClock = field(default_factory=lambda: StagedClock(datetime(2031, 3, 4, 6, tzinfo=UTC)))
    answers_ms: list[float] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    jobs: int = 0
    job: OpenJob = field(init=False)
    session: Session = field(init=False)
    waker: StagedWaker = field(init=False)
    mouth: Mouth = field(init=False)

    def begin(self) -> None:
        """Start the next job."""
        path = PROCEDURES[self.jobs % len(PROCEDURES)]
        self.jobs += 1
        self._take_up(new_job(path, self.logs, Particulars("Brackfell Ostler", "Ana"), self.clock))

    def restart(self) -> None:
        """The program ends and is started again after a break."""
        self.say(msg.Leaving())
        self.job.logbook.close()
        self._check_the_log()
        self.clock.advance(timedelta(seconds=self.rng.choice((5, 90, 900))))
        self._take_up(resume_job(self.job.logbook.path.stem, self.logs, self.clock))
        self.counts["restarts"] += 1

    def _take_up(self, job: OpenJob) -> None:
        self.job, self.waker, self.mouth = job, StagedWaker(), Mouth(SilentVoice())
        edges = Edges(job.logbook, self.clock, self.mouth, self.waker, Unseen())
        self.session = Session(job.state, edges)
        self.say(msg.Opened(self.clock.boot(), job.particulars, timedelta(minutes=20)))

    def say(self, message: msg.Message) -> None:
        """Hand a message over, with a look at how long the answer took and whether anything is late."""
        start = time.perf_counter()
        events = self.session.handle(message)
        self.answers_ms.append((time.perf_counter() - start) * 1000)
        for event in events:
            self.counts[event.event] += 1
        for lost in self.session.lost_sayings():
            self.faults.append(f"a saying was lost: {lost.text}")

    def passes(self, length: timedelta) -> None:
        """Time goes by a second at a time; what is due is said, and what is said is played."""
        for _ in range(round(length.total_seconds())):
            self.clock.advance(timedelta(seconds=1))
            self.mouth.pull(RATE)
            if self.waker.due(self.clock.now()):
                self.say(msg.Woken())
                self._nothing_is_late()

    def _nothing_is_late(self) -> None:
        state, now = self.session.state, self.clock.now().wall
        for deadline in state.deadlines.values():
            urgent = deadline.kind is Kind.TIMER
            if urgent and not deadline.announced and now - deadline.due > LATE:
                self.faults.append(f"missed: {deadline.id}, due {deadline.due}, now {now}")

    def utters(self) -> None:
        """One thing is said, or typed."""
        state = self.session.state
        chance = self.rng.random()
        if chance < 0.6:
            answer = next_answer(state, self.clock.now().wall)
            if isinstance(answer, timedelta):
                self._waits(answer)
            else:
                self.say(answer)
        elif chance < 0.7:
            self.say(understood(Typed(self.rng.choice(RUBBISH)), self.session.expecting(), "en"))
        elif chance < 0.8:
            self.say(heard(Command.NOTE, {"text": f"clip {self.rng.randrange(99)} is cracked"}))
        elif chance < 0.88:
            minutes = str(self.rng.choice((0.5, 1, 2, 10)))
            self.say(heard(Command.START_TIMER, {"minutes": minutes}))
        elif chance < 0.9:
            self.say(heard(Command.HOLD, {"text": "lunch"}))
        else:
            self.say(msg.Heard(self.rng.choice(ASIDE)))

    def _waits(self, length: timedelta) -> None:
        """Short waits are waited for; for the length of a cure the job is held and the next one begun."""
        if length < timedelta(minutes=5):
            self.passes(min(length, timedelta(minutes=1)))
            return
        self.say(heard(Command.HOLD, {"text": "curing"}))
        self.next_job()

    def next_job(self) -> None:
        """Leave this one as it is, and begin another."""
        self.say(msg.Leaving())
        self.job.logbook.close()
        self._check_the_log()
        self.begin()

    def _check_the_log(self) -> None:
        """All that was acknowledged stands in it, once and in order."""
        records = read_log(self.job.logbook.path).records
        if [r.seq for r in records] != list(range(1, len(records) + 1)):
            self.faults.append("the log has gaps or doubles")
        if replay(self.session.state.procedure, records) != self.session.state:
            self.faults.append("replaying the log is not the state")

    def end(self) -> None:
        """Go home."""
        self.say(msg.Leaving())
        self.job.logbook.close()
        self._check_the_log()


def measured() -> tuple[float, int, int]:
    """Memory in MB, threads, open files."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    handles = len(os.listdir("/proc/self/fd"))
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6, threading.active_count(), handles


def soak(hours: float, an_hour: int, seed: int) -> list[str]:
    """Work so long; prints what was seen, and returns what was wrong."""
    with tempfile.TemporaryDirectory() as folder:
        shift = Shift(Path(folder), random.Random(seed))
        shift.begin()
        end = shift.clock.now().wall + timedelta(hours=hours)
        looks: list[tuple[float, tuple[float, int, int]]] = []
        pause, restart_each = 3600 / an_hour, max(1, an_hour // 2)
        said = 0
        while shift.clock.now().wall < end:
            shift.passes(timedelta(seconds=shift.rng.uniform(0.5, 1.5) * pause))
            if shift.session.state.closed:
                shift.next_job()
            shift.utters()
            said += 1
            if said % restart_each == 0:
                shift.restart()
            if said % 20 == 0:
                gone = hours - (end - shift.clock.now().wall) / timedelta(hours=1)
                looks.append((gone, measured()))
        shift.end()
    return [*shift.faults, *_told(shift, looks, said)]


def _told(shift: Shift, looks: list[tuple[float, tuple[float, int, int]]], said: int) -> list[str]:
    answers, count = sorted(shift.answers_ms), shift.counts
    jobs = f"{shift.jobs} jobs, {count['job_closed']} closed, {count['restarts']} restarts"
    print(f"{said} utterances in {jobs}")
    print(f"waits and timers set {count['deadline_set']}, announced {count['deadline_announced']} times")
    print(f"notes {count['note_taken']}, undone {count['step_undone']}, holds {count['job_held']}")
    p50, p99 = statistics.median(answers), answers[int(len(answers) * 0.99)]
    print(f"answer: median {p50:.1f} ms, p99 {p99:.1f} ms, worst {answers[-1]:.1f} ms")
    wrong = []
    third = max(1, len(looks) // 3)
    for n, name in enumerate(("memory, MB", "threads", "open files")):
        first = statistics.mean(look[n] for _, look in looks[:third])
        last = statistics.mean(look[n] for _, look in looks[-third:])
        slope = 0.0
        if len(looks) > 2:
            slope = statistics.linear_regression([h for h, _ in looks], [float(x[n]) for _, x in looks]).slope
        print(f"{name}: {first:.1f} in the first third, {last:.1f} in the last, {slope:+.3f} an hour")
        if last > first * GROWTH:
            wrong.append(f"{name} grew from {first:.1f} to {last:.1f}")
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--hours", type=float, default=8.0)
    parser.add_argument("--an-hour", type=int, default=500, help="utterances")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    wrong = soak(options.hours, options.an_hour, options.seed)
    for fault in wrong[:20]:
        print(fault)
    print("nothing was lost, doubled, missed or grown" if not wrong else f"{len(wrong)} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
