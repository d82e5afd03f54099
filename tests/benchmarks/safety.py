"""Does anything that can be said, or that can happen to the machine, lead past a gate?

    python -m tests.benchmarks.safety [--sequences 10000] [--seed 1] [--moves 40]

Random mechanics say random things, time passes, clocks are set, the machine sleeps, the program is killed
between any two events and goes on from its log, the machine is started again. A second opinion
(`safety_oracle`) that shares no code with the core watches every event. Ends with 1 when anything is found.
"""

import argparse
import copy
import json
import random
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

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
from companion.procedure.read import read_procedure
from companion.rehearsal.obliging import next_answer
from tests.benchmarks.safety_memory import SLACK, UnsafeError
from tests.benchmarks.safety_oracle import Oracle
from tests.helpers.said import heard

START = datetime(2031, 3, 4, 8, tzinfo=UTC)
READINGS = (
    "0",
    "0.1",
    "12.4",
    "-12.4",
    "nan",
    "inf",
    "-inf",
    "1e999",
    "0.5000001",
    "",
    "many",
    "5",
    "40",
    "24.9",
)
UNITS = ("", "V", "mm", "°C", "L", "bar")
LENGTHS = (1, 20, 59, 61, 200, 599, 601, 1900, 3700, 8000, 90_000)
"""Seconds."""
HASTY = (
    Command.DONE,
    Command.DONE,
    Command.YES,
    Command.SKIP,
    Command.UNDO,
    Command.READING,
    Command.CARRY_ON,
)
"""What someone says who wants to get on."""
JUMPS = (-90_000, -3600, -600, -30, -1.9, -0.6, 0.6, 1.9, 30, 600, 3600, 90_000)


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
            job="job", title=self.procedure.title, revision="1", procedure_sha256="0" * 64
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


def random_heard(world: World, rng: random.Random) -> msg.Heard:
    """Anything that can be heard, mostly things that mean something now."""
    can = expected(world.state)
    pool = rng.choice([can.commands, tuple(Command), HASTY])
    command = Command.STATE if can.states and rng.random() < 0.2 else rng.choice(pool)
    states = [
        *can.states * 12,
        *can.states,
        *(s.state for s in world.procedure.steps if s.state),
        "new seal fitted",
        "seal is fit to use",
    ]
    arguments = {
        Command.STATE: {"state": rng.choice([*states, "renew the seal", ""])},
        Command.READING: {"value": rng.choice(READINGS), "unit": rng.choice([can.reading or "", *UNITS])},
        Command.COUNT: {
            "number": rng.choice([str(world.state.counted + 1), "1", "7", "²", "-1", "9" * 5000])
        },
        Command.SKIP: rng.choice([{}, {"reason": "bolt is gone"}, {"reason": "no time"}]),
        Command.NOTE: rng.choice([{}, {"text": "thread is worn"}]),
        Command.WORDS: rng.choice([{}, {"text": "because I say so"}]),
        Command.DURATION: {"minutes": rng.choice(["10", "2880", "0", "-1", "nan", "inf", "1e9", "x"])},
        Command.START_TIMER: rng.choice([{}, {"minutes": "1"}, {"minutes": "45"}]),
        Command.AWAIT_PART: {"text": rng.choice(["", "the ring in three days", "bearing", "two weeks", "?"])},
        Command.HOLD: rng.choice([{}, {"text": "lunch"}]),
    }.get(command, {})
    return heard(command, arguments)


def oblige(world: World, rng: random.Random) -> None:
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


def _unsure(world: World, rng: random.Random) -> None:
    before, said = world.state, random_heard(world, rng)
    world.post(msg.Unsure(said.command, said.given, "mumble", 0.5))
    if (world.state.settled, world.state.current) != (before.settled, before.current):
        raise UnsafeError("an unclear command moved the job")


def _wait(world: World, rng: random.Random) -> None:
    world.passes(timedelta(seconds=rng.choice(LENGTHS)))
    world.post(msg.Woken())


def _jump(world: World, rng: random.Random) -> None:
    jump = timedelta(seconds=rng.choice(JUMPS))
    world.wall += jump
    world.post(rng.choice([msg.ClockJumped(jump), msg.Woken(), random_heard(world, rng)]))


def _killed(world: World, rng: random.Random) -> None:
    """Between any two events of a turn; its last events never reach the log."""
    heard = (
        rng.choice([random_heard(world, rng), next_answer(world.state, world.wall)])
        if not world.state.closed
        else None
    )
    if isinstance(heard, msg.Heard):
        world.post(heard, keep=rng.randrange(12))
    elif rng.random() < 0.5:
        world.wall += timedelta(seconds=rng.choice(JUMPS))
        world.post(msg.Woken(), keep=rng.randrange(12))
    world.killed(timedelta(seconds=rng.choice(LENGTHS)))


def _rebooted(world: World, rng: random.Random) -> None:
    back = timedelta(seconds=rng.choice((0, 0, 60, 5000, 400_000)))
    world.killed(timedelta(seconds=rng.choice(LENGTHS)), reboot=True, set_back=back)


def _at_desk(world: World, rng: random.Random) -> None:
    """The program ends; somebody writes into the log; it is started again."""
    world.replayed()
    quiet_since = world.state.last.mono if world.state.last else world.mono
    world.passes(timedelta(seconds=rng.choice(LENGTHS)))
    part = rng.choice(["ring", "bearing", "gasket", ""])
    typed = rng.choice([msg.PartAwaited(part, timedelta(days=rng.choice((1, 3)))), msg.PartCame(part)])
    if not any(isinstance(event, ev.Refused) for event in decide(world.state, typed, world.now).events):
        world.post(typed)
    world.passes(timedelta(seconds=rng.choice((1, 59, 200))))
    if world.mono - quiet_since >= timedelta(minutes=1):
        world.oracle.interrupted()
    world.open()


def _odd(world: World, rng: random.Random) -> None:
    world.post(
        rng.choice(
            [
                msg.NotUnderstood("radio", rng.choice(["voice", "keys"])),
                msg.SayingFailed("Step 3", "no device", safety=True),
                msg.MicrophoneLost("unplugged"),
                msg.MicrophoneBack(),
                msg.HearingFailed("no model"),
                msg.AlarmCommand(4, "done", 0),
                msg.LogFailed("the disk is full"),
                msg.LogMended(),
                msg.Leaving(),
                msg.Woken(),
            ]
        )
    )


MOVES: Sequence[tuple[int, Callable[[World, random.Random], None]]] = (
    (45, oblige),
    (30, lambda world, rng: world.post(random_heard(world, rng))),
    (4, _unsure),
    (8, _wait),
    (4, _jump),
    (4, _killed),
    (2, _rebooted),
    (2, _at_desk),
    (3, _odd),
)


def play(world: World, rng: random.Random, moves: int) -> None:
    """So many random moves, with every check on every event; `UnsafeError` when one fails."""
    weights = [weight for weight, _ in MOVES]
    for _ in range(moves):
        move = rng.choices(MOVES, weights)[0][1]
        move(world, rng)
    world.replayed()
    if rng.random() < 0.7:
        world.all_announced()
    else:
        world.can_be_finished()


def starts(procedure: Procedure) -> list[World]:
    """The same job at every stage of an obliging mechanic's way through it."""
    world = World(procedure)
    world.open()
    found = []
    while not world.state.closed:
        found.append(world.copy())
        oblige(world, random.Random(0))
    return [*found, world]


def procedures() -> list[Procedure]:
    """Those that come along, and a small one full of gates."""
    shipped = [read_procedure(path) for path in sorted(Path("procedures").glob("*.yaml"))]
    return [*shipped, Procedure.from_data(DENSE)]


DENSE = {
    "title": "Belt unit", "revision": "1", "applies_to": ["an invented vehicle"],
    "source_of_torques": "invented",
    "parts": {"ring": {"name": "ring", "single_use": True}},
    "consumables": {
        "glue": {"name": "glue", "product_class": "one-part", "clock_starts": "application",
                 "skin_over": "5 min", "full_cure": "40 min"},
    },
    "energy": {
        "battery": {"name": "battery", "source": "battery", "wait": "3 min",
                    "prove": {"what": "between the leads", "unit": "V", "at_most": 0.5}},
        "airbag": {"name": "airbag", "source": "airbag", "wait": "10 min"},
        "spring": {"name": "spring", "source": "stored spring"},
    },
    "items": {"cover": {"name": "cover", "kind": "panel"}, "plug": {"name": "plug", "kind": "connector"}},
    "seals": {"ring": {"name": "ring", "use": "single", "part": "ring", "joint": "cover"},
              "lip": {"name": "lip", "use": "inspect", "joint": "cover"}},
    "steps": [
        {"id": "off", "act": "isolate", "say": "Off.", "book": "1 min", "isolates": "battery",
         "state": "battery disconnected"},
        {"id": "safe", "act": "isolate", "say": "Safe.", "book": "1 min", "isolates": "airbag",
         "state": "airbag is safe", "after": []},
        {"id": "pin", "act": "isolate", "say": "Pin.", "book": "1 min", "isolates": "spring", "after": [],
         "state": "pin is in", "count": 2, "each": "turn"},
        {"id": "off-proved", "act": "verify", "say": "Measure.", "book": "1 min", "proves": "battery",
         "after": ["off"]},
        {"id": "safe-proved", "act": "verify", "say": "Look.", "book": "1 min", "proves": "airbag",
         "state": "lamp is dark", "after": ["safe", "off-proved"], "needs_isolated": ["battery"]},
        {"id": "pin-proved", "act": "verify", "say": "Pull.", "book": "1 min", "proves": "spring",
         "state": "pin holds", "after": ["pin"]},
        {"id": "unplug", "act": "disconnect", "say": "Unplug.", "book": "1 min", "opens": ["plug"],
         "needs_isolated": ["battery", "airbag"], "after": ["safe-proved"]},
        {"id": "cover-off", "act": "remove", "say": "Cover off.", "book": "1 min", "opens": ["cover"],
         "disturbs": ["ring", "lip"], "needs_isolated": ["spring", "airbag"],
         "after": ["pin-proved", "unplug"]},
        {"id": "extra", "act": "clean", "say": "Clean.", "book": "1 min", "optional": "Clean it?",
         "after": ["cover-off"]},
        {"id": "extra-look", "act": "inspect", "say": "Look.", "book": "1 min", "only_if": "extra",
         "measure": {"what": "gap", "unit": "mm", "at_least": 0.1, "at_most": 0.5}},
        {"id": "rings", "act": "fit", "say": "Rings.", "book": "1 min", "renews": ["ring", "lip"],
         "after": ["cover-off", "extra-look"]},
        {"id": "glue", "act": "apply", "say": "Glue.", "book": "1 min", "applies": {"consumable": "glue"}},
        {"id": "cover-on", "act": "tighten", "say": "Cover on.", "book": "1 min", "closes": ["cover"],
         "assembles": "glue", "needs_isolated": ["spring"],
         "fasteners": [{"what": "bolt", "thread": "M6", "hex": 10, "stages": ["4 N·m", "90°"],
                        "renew": True}]},
        {"id": "replug", "act": "connect", "say": "Plug in.", "book": "1 min", "closes": ["plug"],
         "needs_isolated": ["battery", "airbag"], "after": ["cover-off"]},
        {"id": "stand", "act": "wait", "say": "Let it stand.", "book": "5 min", "wait": "5 min",
         "after": ["replug", "cover-on"]},
        {"id": "unpin", "act": "restore", "say": "Pin out.", "book": "1 min", "restores": "spring",
         "state": "pin is out", "waits_for": ["glue"]},
        {"id": "armed", "act": "restore", "say": "Arm.", "book": "1 min", "restores": "airbag",
         "state": "airbag is armed"},
        {"id": "on", "act": "restore", "say": "On.", "book": "1 min", "restores": "battery",
         "state": "battery connected"},
    ],
    "follow_ups": [{"what": "Look again", "after": "3 days"}],
}  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Random jobs, watched by a second opinion")
    parser.add_argument("--sequences", type=int, default=10_000)
    parser.add_argument("--moves", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args(arguments)
    begun = time.monotonic()
    stages = [starts(procedure) for procedure in procedures()]
    counts: Counter[str] = Counter()
    found: list[str] = []
    for number in range(chosen.sequences):
        seed = chosen.seed * 1_000_000 + number
        rng = random.Random(seed)
        world = rng.choice(rng.choice(stages)).copy()
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
    "steps begun or moved on with every isolation proved, every cure over, every seal renewed": (
        "step_begun",
        "step_done",
        "stage_done",
        "counted",
        "reading_taken",
    ),
    "proofs by a confirmed reading or the right words, after the wait": ("energy_proved",),
    "announcements not early, late ones told once": ("deadline_announced",),
    "deadlines set and not lost": ("deadline_set",),
    "jobs closed with nothing open": ("job_closed",),
    "starts of the companion from its log": ("session_started",),
    "clocks set": ("clock_moved",),
}

if __name__ == "__main__":
    sys.exit(main())
