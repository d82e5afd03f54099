"""One job, the machine it runs on, and the second opinion that watches every event."""

import copy
import json
import random
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from companion.job import messages as msg
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import fold
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.job.rules.expected import expected
from companion.job.turns.reminders import wake_times
from companion.procedure.model import Procedure
from companion.rehearsal.obliging import next_answer
from tests.benchmarks.safety.oracle import MECHANIC, SLACK, Oracle, UnsafeError

START = datetime(2031, 3, 4, 8, tzinfo=UTC)


@dataclass
class World:
    """One job, the machine it runs on, and the second opinion. `passed` is the time that nobody can set."""

    procedure: Procedure
    state: State = field(init=False)
    oracle: Oracle = field(init=False)
    read_state: State = field(init=False)
    """As told by the lines of the log that have been read back."""
    log: list[ev.Record] = field(default_factory=list)
    passed: timedelta = timedelta()
    wall: datetime = START
    mono: timedelta = timedelta(hours=1)
    boot: int = 1
    counts: Counter[str] = field(default_factory=Counter)

    read: int = 0
    """How many lines of the log have been read back."""

    def __post_init__(self) -> None:
        self.state = State(self.procedure)
        self.read_state = self.state
        self.oracle = Oracle(self.procedure)

    def copy(self) -> "World":
        """The same world, to go another way."""
        other = copy.copy(self)
        other.oracle, other.log, other.counts = self.oracle.copy(), self.log.copy(), Counter()
        return other

    @property
    def now(self) -> Instant:
        """As the machine tells it."""
        return Instant(self.wall, self.mono)

    def open(self) -> None:
        """Start the companion."""
        particulars = ev.JobOpened(
            job="job",
            title=self.procedure.title,
            revision="1",
            procedure_sha256="0" * 64,
            mechanic=MECHANIC,
        )
        self.post(msg.Opened(f"boot-{self.boot}", particulars, timedelta(minutes=30), timedelta(minutes=10)))

    def post(self, message: msg.Message, keep: int | None = None) -> None:
        """Hand a message over and check all that comes of it; log only the first `keep` events."""
        said = isinstance(message, msg.Heard)
        self.oracle.listen(message.command if said else None, message.arguments if said else {})
        decision = decide(self.state, message, self.now)
        kept = decision.events[:keep]
        for event in kept:
            self.log.append(ev.Record(seq=len(self.log) + 1, at=self.wall, mono=self.mono, event=event))
            self.oracle.see(event, self.passed, self.wall)
            self.counts[event.event] += 1
        self.state = decision.state
        if len(kept) < len(decision.events):
            self.replayed(after_a_cut=True)
        if set(self.state.deadlines) != self.oracle.still_waits_for():
            raise UnsafeError(f"lost: {self.oracle.still_waits_for() ^ set(self.state.deadlines)}")
        expected(self.state)
        if any(wake < self.wall for wake in wake_times(self.state, self.now).values()):
            raise UnsafeError("a wake-up in the past")

    def passes(self, length: timedelta) -> None:
        """Time goes by, on both clocks."""
        self.passed += length
        self.wall += length
        self.mono += length

    def replayed(self, after_a_cut: bool = False) -> None:
        """What the log tells, through its lines, is where the job stands (after a cut: will stand)."""
        lines = [json.dumps(record.line()) for record in self.log[self.read :]]
        for record in [ev.Record.from_line(json.loads(line)) for line in lines]:
            self.read_state = fold(self.read_state, record.event, Instant(record.at, record.mono))
        self.read = len(self.log)
        if after_a_cut:
            self.state = self.read_state
        elif self.read_state != self.state:
            raise UnsafeError("replaying the log is not the state")

    def killed(self, back_after: timedelta, reboot: bool = False, set_back: timedelta = timedelta()) -> None:
        """The program dies and is started again later, perhaps with the machine."""
        self.replayed()
        quiet_since = self.log[-1].mono if self.log else self.mono
        self.passes(back_after)
        if reboot:
            self.boot += 1
            self.mono = timedelta(seconds=20)
            self.wall -= set_back
            self.oracle.early += SLACK
        if reboot or self.mono - quiet_since >= timedelta(minutes=1):
            self.oracle.interrupted()
        self.open()

    def can_be_finished(self) -> None:
        """There is a way out of everything: an obliging mechanic still gets the job closed."""
        rng = random.Random(0)
        for _ in range(600):
            if self.state.closed:
                return
            oblige(self, rng)
        raise UnsafeError(f"the job cannot be finished: {self.state.last_said[-1:]}")

    def all_announced(self) -> None:
        """In the end everything that waits is announced: nothing was lost."""
        if self.state.held or self.state.current or self.state.to_prove:
            self.post(msg.Heard(Command.STOP_WORK))
        for _ in range(3):
            latest = max((d.due for d in self.state.deadlines.values()), default=self.wall)
            self.passes(max(latest - self.wall, timedelta()) + timedelta(seconds=31))
            self.post(msg.Woken())
        for id_, deadline in self.state.deadlines.items():
            if deadline.announced < (1 if id_.startswith("part:") else 2):
                raise UnsafeError(f"{id_} is due and was not said until acknowledged")


def oblige(world: World, rng: random.Random | None = None) -> None:
    """Give what is wanted, or wait for it."""
    if world.state.closed:
        world.post(msg.Woken())
        return
    world.passes(timedelta(seconds=1))
    if world.state.log_failed:
        world.post(msg.LogMended())
    answer = next_answer(world.state, world.wall)
    if isinstance(answer, timedelta):
        world.passes(answer)
        world.post(msg.Woken())
    else:
        world.post(answer)


def starts(procedure: Procedure) -> list[World]:
    """The same job at every stage of an obliging mechanic's way through it."""
    world = World(procedure)
    world.open()
    found = []
    while not world.state.closed:
        found.append(world.copy())
        oblige(world, random.Random(0))
    return [*found, world]
