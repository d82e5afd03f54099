"""Demo logs: invented mechanics doing whole jobs on real procedures, through the real job core.

    python -m companion.demo.shop_demo procedures logs/demo

Every event is one that the core decided, so the logs can be resumed, summarised and analysed like any other.
"""

import sys
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from companion.demo.shop import Shop, Trouble
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.job.facts.state import Question, State
from companion.job.messages import Heard, Leaving, Message, Opened, Woken
from companion.labour.table.stopwatch import Stopwatch
from companion.logbook.lines import encode
from companion.logbook.names import new_job_name
from companion.logbook.procedures import keep_procedure
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure
from companion.rehearsal.obliging import next_answer

JOBS = 40
MECHANICS = ("Aske", "Brunla", "Corwen")
CARS = ("green estate", "white van", "grey hatchback", "red saloon", "blue pickup")
RUSTY = "rusty pickup"
HOLDS = ("phone call", "customer at the counter", "waiting for a part", "tool lent out", "lunch")
REMARKS = (
    "everything is dirty here, cleaned it first",
    "had to look for the tool",
    "hard to reach on this one",
    "lamp went out, fetched another",
    "rust, had to go slowly",
)
FIRST_DAY = datetime(2031, 2, 3, 7, 0, tzinfo=UTC)
LONG_WAIT = timedelta(minutes=45)
"""A longer wait is not sat out: the mechanic closes the companion and comes back."""
NEXT_ANSWER_S = 4.0
UNFINISHED = 0.6
"""Of the last job, this part is done: it is still open."""
MOST_RECORDS = 5000
RUSTY_JOB = 16
SPREADS = np.array([0.28, 0.30, 0.12, 0.12])
"""In the order of `mixed_model.SPREADS`."""
HOLD, UNDO, WANTED = 0.03, 0.008, 0.35
"""Chances: of a hold in a step, of a step done twice, of an optional step being accepted."""


@dataclass
class _Job:
    """One job being done."""

    state: State
    now: Instant
    rng: np.random.Generator
    step_s: dict[str, float]
    usual_s: dict[str, float]
    records: list[ev.Record] = field(default_factory=list)
    boots: int = 1
    watch: Stopwatch = field(default_factory=Stopwatch)
    because: str = ""
    met: set[str] = field(default_factory=set)
    """Steps whose chance of an incident is past."""

    def post(self, message: Message) -> None:
        decision = decide(self.state, message, self.now)
        for decided in decision.events:
            event = (
                decided.model_copy(update={"because": self.because})
                if isinstance(decided, ev.JobHeld)
                else decided
            )
            record = ev.Record(seq=len(self.records) + 1, at=self.now.wall, mono=self.now.mono, event=event)
            self.records.append(record)
            self.watch.see(record)
        self.state = decision.state

    def say(self, command: Command, **arguments: str) -> None:
        text = " ".join([command, *arguments.values()])
        self.post(Heard(command, arguments, text, score=round(float(self.rng.uniform(0.82, 0.99)), 2)))

    def wait(self, seconds: float) -> None:
        length = timedelta(seconds=round(seconds, 3))
        self.now = Instant(self.now.wall + length, self.now.mono + length)

    def away(self, length: timedelta) -> None:
        """Leave, and come back after a restart of the machine."""
        self.wait(5)
        self.post(Leaving())
        self.boots += 1
        self.now = Instant(self.now.wall + length, timedelta(seconds=40))
        self.post(Opened(boot=f"boot-{self.boots}"))

    def run(self, opened: ev.JobOpened, part: float = 1.0) -> None:
        """To the end, or until that part of the steps is settled."""
        self.post(Opened(boot="boot-1", particulars=opened))
        enough = part * len(self.state.procedure.steps)
        while not self.state.closed and (part == 1 or len(self.state.settled) < enough):
            assert len(self.records) < MOST_RECORDS, "the job does not come to its end"
            wanted = next_answer(self.state)
            if isinstance(wanted, Heard):
                self._answer(wanted)
            elif wanted > LONG_WAIT:
                self.away(wanted + timedelta(minutes=2))
            else:
                self.wait(wanted.total_seconds() + 1)
                self.post(Woken())
        self.wait(20)
        self.post(Leaving())

    def _answer(self, wanted: Heard) -> None:
        arguments = dict(wanted.arguments)
        command = wanted.command
        if self.state.question is Question.STEP_WANTED and self.rng.random() > WANTED:
            command = Command.NO
        step = self.state.current
        if step is None or self.state.question is not None or self.state.held:
            self.wait(NEXT_ANSWER_S)
            self.say(command, **arguments)
            return
        ends = decide(self.state, wanted, self.now).state.current != step
        if not ends and command is not Command.READING:  # the step wants more than this
            self.wait(NEXT_ANSWER_S)
            self.say(command, **arguments)
            return
        if step not in self.met:
            self.met.add(step)
            self._incident(step)
            return
        self.wait(max(1.0, self.step_s[step] - self.watch.elapsed(self.now)))
        self.say(command, **arguments)
        if self.state.question is None and self.state.current and self.rng.random() < UNDO:
            self.wait(15)
            self.step_s[step] = self.watch.done.get(step, 0.0) + 0.4 * self.step_s[step]
            self.say(Command.UNDO)

    def _incident(self, step: str) -> None:
        """Halfway: somebody calls, or there is something to remark."""
        half = self.step_s[step] / 2 - self.watch.elapsed(self.now)
        if half < 5:
            return
        if self.rng.random() < HOLD:
            self.wait(half)
            self.because = str(self.rng.choice(HOLDS))
            self.say(Command.HOLD)
            self.wait(60 * float(self.rng.uniform(2, 25)))
            self.say(Command.CARRY_ON)
        elif self.step_s[step] > 1.7 * self.usual_s[step] and self.rng.random() < 0.5:
            self.wait(half)
            self.say(Command.NOTE, text=str(self.rng.choice(REMARKS)))


def write_demo(procedures: Path, logs: Path, jobs: int = JOBS, seed: int = 2033) -> tuple[str, ...]:
    """Write the logs of `jobs` jobs, in turn on each procedure file in the folder; the names of the jobs."""
    logs.mkdir(parents=True, exist_ok=True)
    files = sorted(procedures.glob("*.yaml"))
    shops: dict[Path, tuple[Procedure, Shop]] = {}
    for n, path in enumerate(files):
        procedure = read_procedure(path)
        book = np.array([s.book.total_seconds() for s in procedure.steps])
        shops[path] = procedure, Shop(seed + n, book, len(MECHANICS), spreads=SPREADS)
    rng = np.random.default_rng(seed)
    names: list[str] = []
    for number in range(jobs):
        path = files[number % len(files)]
        procedure, shop = shops[path]
        rusty = number == RUSTY_JOB
        shop.trouble = Trouble(rusty=(shop.made,) if rusty else ())
        truth = shop.work(1)
        ids = [s.id for s in procedure.steps]
        usual = shop.book_s * np.exp(shop.base + shop.step)
        opened = FIRST_DAY + timedelta(days=3 * number + 2 * (number % 2), minutes=int(rng.integers(0, 90)))
        job = new_job_name(procedure.title, opened, names)
        names.append(job)
        doing = _Job(
            State(procedure),
            Instant(opened, timedelta(seconds=900)),
            rng,
            dict(zip(ids, truth.true_s[0].tolist(), strict=True)),
            dict(zip(ids, usual.tolist(), strict=True)),
        )
        doing.run(
            ev.JobOpened(
                job=job,
                title=procedure.title,
                revision=procedure.revision,
                procedure_sha256=keep_procedure(logs, path.read_bytes()),
                vehicle=RUSTY if rusty else CARS[int(rng.integers(len(CARS)))],
                mechanic=MECHANICS[int(truth.mechanic[0])],
                ambient_c=23.0,
            ),
            part=UNFINISHED if number == jobs - 1 else 1.0,
        )
        (logs / f"{job}.jsonl").write_bytes(b"".join(encode(r) for r in doing.records))
    return tuple(names)


if __name__ == "__main__":
    made = write_demo(Path(sys.argv[1]), Path(sys.argv[2]))
    print(f"{len(made)} jobs written to {sys.argv[2]}")
