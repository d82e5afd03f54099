"""One job done by an invented mechanic, through the real job core."""

from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np

from companion.errors import CompanionError
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.job.facts.said.given import Given, Words
from companion.job.facts.said.log_map import as_map
from companion.job.facts.said.questions import StepWanted
from companion.job.facts.state import State
from companion.job.messages import Heard, Leaving, Message, Opened, Woken
from companion.labour.table.stopwatch import Stopwatch
from companion.rehearsal.obliging import next_answer

HOLDS = ("phone call", "customer at the counter", "waiting for a part", "tool lent out", "lunch")
REMARKS = (
    "everything is dirty here, cleaned it first",
    "had to look for the tool",
    "hard to reach on this one",
    "lamp went out, fetched another",
    "rust, had to go slowly",
)
LONG_WAIT = timedelta(minutes=45)
"""A longer wait is not sat out: the mechanic closes the companion and comes back."""
NEXT_ANSWER_S = 4.0
MOST_RECORDS = 5000
HOLD, UNDO, WANTED = 0.03, 0.008, 0.35
"""Chances: of a hold in a step, of a step done twice, of an optional step being accepted."""


@dataclass
class InventedJob:
    """One job being done."""

    state: State
    now: Instant
    rng: np.random.Generator
    step_s: dict[str, float]
    """How long each step takes on this car, by id."""
    usual_s: dict[str, float]
    """How long it usually takes."""
    records: list[ev.Record] = field(default_factory=list)
    """The log."""
    _boots: int = 1
    _watch: Stopwatch = field(default_factory=Stopwatch)
    _because: str = ""
    _met: set[str] = field(default_factory=set)
    """The steps whose chance of an incident is past."""

    def run(self, opened: ev.JobOpened, part: float = 1.0) -> None:
        """Do the job to its end, or until that part of the steps is settled.

        Raises:
            CompanionError: the job does not come to its end.
        """
        self._post(Opened(boot="boot-1", particulars=opened))
        enough = part * len(self.state.procedure.steps)
        while not self.state.closed and (part == 1 or len(self.state.settled) < enough):
            if len(self.records) > MOST_RECORDS:
                raise CompanionError(
                    f"{self.state.procedure.title}: an invented mechanic does not come to its end; "
                    "rehearse it, and see where it stops"
                )
            wanted = next_answer(self.state)
            if isinstance(wanted, Heard):
                self._answer(wanted)
            elif wanted > LONG_WAIT:
                self._away(wanted + timedelta(minutes=2))
            else:
                self._wait(wanted.total_seconds() + 1)
                self._post(Woken())
        self._wait(20)
        self._post(Leaving())

    def _post(self, message: Message) -> None:
        decision = decide(self.state, message, self.now)
        for decided in decision.events:
            held = isinstance(decided, ev.JobHeld)
            event = decided.model_copy(update={"because": self._because}) if held else decided
            record = ev.Record(seq=len(self.records) + 1, at=self.now.wall, mono=self.now.mono, event=event)
            self.records.append(record)
            self._watch.see(record)
        self.state = decision.state

    def _say(self, command: Command, given: Given | None = None) -> None:
        text = " ".join([command, *as_map(given).values()])
        self._post(Heard(command, given, text, score=round(float(self.rng.uniform(0.82, 0.99)), 2)))

    def _wait(self, seconds: float) -> None:
        length = timedelta(seconds=round(seconds, 3))
        self.now = Instant(self.now.wall + length, self.now.mono + length)

    def _away(self, length: timedelta) -> None:
        """Leave, and come back after a restart of the machine."""
        self._wait(5)
        self._post(Leaving())
        self._boots += 1
        self.now = Instant(self.now.wall + length, timedelta(seconds=40))
        self._post(Opened(boot=f"boot-{self._boots}"))

    def _answer(self, wanted: Heard) -> None:
        command = wanted.command
        if isinstance(self.state.question, StepWanted) and self.rng.random() > WANTED:
            command = Command.NO
        step = self.state.current
        if step is None or self.state.question is not None or self.state.held:
            self._wait(NEXT_ANSWER_S)
            self._say(command, wanted.given)
            return
        ends = decide(self.state, wanted, self.now).state.current != step
        if not ends and command is not Command.READING:  # the step wants more than this
            self._wait(NEXT_ANSWER_S)
            self._say(command, wanted.given)
            return
        if step not in self._met:
            self._met.add(step)
            self._incident(step)
            return
        self._wait(max(1.0, self.step_s[step] - self._watch.elapsed(self.now)))
        self._say(command, wanted.given)
        if self.state.question is None and self.state.current and self.rng.random() < UNDO:
            self._wait(15)
            self.step_s[step] = self._watch.done.get(step, 0.0) + 0.4 * self.step_s[step]
            self._say(Command.UNDO)

    def _incident(self, step: str) -> None:
        """Halfway through a step somebody may call, or there is something to remark."""
        half = self.step_s[step] / 2 - self._watch.elapsed(self.now)
        if half < 5:
            return
        if self.rng.random() < HOLD:
            self._wait(half)
            self._because = str(self.rng.choice(HOLDS))
            self._say(Command.HOLD)
            self._wait(60 * float(self.rng.uniform(2, 25)))
            self._say(Command.CARRY_ON)
        elif self.step_s[step] > 1.7 * self.usual_s[step] and self.rng.random() < 0.5:
            self._wait(half)
            self._say(Command.NOTE, Words(str(self.rng.choice(REMARKS))))
