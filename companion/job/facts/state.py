"""Where the job stands: plain data, folded from events alone (see `folding.py`)."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum

from companion.job.facts.deadlines import Deadline
from companion.job.facts.energy import EnergyState
from companion.job.facts.instant import Instant
from companion.job.facts.said.questions import Question
from companion.procedure.model import Procedure, Step


class How(StrEnum):
    """How a step was settled."""

    DONE = "done"
    SKIPPED = "skipped"
    NOT_NEEDED = "not needed"


@dataclass(frozen=True)
class Settled:
    """A step that needs no more attention, unless it is undone."""

    step: str
    how: How
    at: datetime
    because: str = ""
    """The spoken state, or the reason for skipping."""
    for_good: bool = False
    """Skipped by decision: what it would have tightened or filled is to stay as it is."""


@dataclass(frozen=True)
class LeftOut:
    """An item that is not put back in this job."""

    item: str
    opener: str
    """The step that opened it."""
    because: str
    by: str
    """The mechanic who decided it."""
    at: datetime
    seals: Mapping[str, str] = field(default_factory=dict)
    """Seals of its joint that were not renewed -> the step that disturbed each."""


@dataclass(frozen=True)
class Note:
    """Something the mechanic said to keep."""

    number: int
    step: str | None
    text: str
    clip: str | None


@dataclass(frozen=True)
class Reading:
    """A value taken in the current step."""

    value: float
    unit: str
    within: bool


@dataclass(frozen=True)
class Alone:
    """How often to look after someone working alone."""

    every: timedelta
    under_vehicle: timedelta
    """Shorter, while a vehicle stands supported."""


@dataclass(frozen=True)
class State:
    """One job at one moment."""

    procedure: Procedure
    job: str | None = None
    vehicle: str = ""
    mechanic: str = ""
    ambient_c: float | None = None
    humidity: float | None = None
    boot: str = ""
    last: Instant | None = None
    """When the last event happened."""
    clocks: Instant | None = None
    """When the two clocks last agreed: a difference since then is a jump of the wall clock."""
    settled: Mapping[str, Settled] = field(default_factory=dict)
    """By step id, in the order they were settled."""
    current: str | None = None
    """The step being worked on."""
    begun: Instant | None = None
    looking_at: str | None = None
    """An earlier step being looked at again ("go back"); the work stays at `current`."""
    stage: int = 0
    """Tightening stages done in the current step."""
    counted: int = 0
    new_fasteners: tuple[str, ...] = ()
    """Of the current step, by name: said to be new ones."""
    reading: Reading | None = None
    wanted: frozenset[str] = frozenset()
    advice: tuple[str, ...] = ()
    """What is odd in the procedure, until it is understood."""
    parts: Mapping[str, bool] = field(default_factory=dict)
    """On the bench or not, by part id."""
    open_items: Mapping[str, str] = field(default_factory=dict)
    """Item id -> the step that opened it, in the order they were opened."""
    left_out: Mapping[str, LeftOut] = field(default_factory=dict)
    """Items left out for good, in the order it was decided. They are not among the open ones."""
    open_seals: Mapping[str, str] = field(default_factory=dict)
    """Seal id -> the step that disturbed it."""
    closed_items: Mapping[str, str] = field(default_factory=dict)
    """Items put back -> the step that had opened them, so that it can be taken back."""
    mended_seals: Mapping[str, str] = field(default_factory=dict)
    """Seals renewed or passed -> the step that had disturbed them."""
    bad_seals: frozenset[str] = frozenset()
    """Inspected and failed: only a new one will do."""
    energy: Mapping[str, EnergyState] = field(default_factory=dict)
    to_prove: tuple[str, ...] = ()
    """Energy sources whose proof was lost; each must be proved again before the work goes on."""
    failed_proofs: Mapping[str, Reading] = field(default_factory=dict)
    """Energy sources whose last proof failed -> the reading; until each is proved dead."""
    question: Question | None = None
    asked: str = ""
    """The open question, as asked aloud."""
    asked_at: Instant | None = None
    """When it was asked last."""
    deadlines: Mapping[str, Deadline] = field(default_factory=dict)
    """Those not yet settled."""
    told: tuple[str, ...] = ()
    """Routine reminders announced since the last thing heard. If the program dies they are told again."""
    reached: frozenset[str] = frozenset()
    """Ids of deadlines that ran their full time."""
    followed_up: frozenset[str] = frozenset()
    """Ids of follow-ups that have been done."""
    notes: tuple[Note, ...] = ()
    notes_taken: int = 0
    fresh_note: int | None = None
    """The note that "scratch that" and "again" mean."""
    log_failed: bool = False
    """Nothing can be logged, so nothing that is said counts."""
    held: bool = False
    held_because: str = ""
    stopped: bool = False
    closed: bool = False
    alone: Alone | None = None
    sign_of_life: Instant | None = None
    check_in_stage: int = 0
    last_heard: str = ""
    last_command: str = ""
    in_a_row: int = 0
    """How often the last command was heard with no other, no new step and no question in between."""
    last_misheard: str = ""
    last_said: tuple[str, ...] = ()
    """The sayings since the last thing heard."""
    missed: int = 0
    """How often something was not understood, and told so, since the last command."""
    missed_at: tuple[timedelta, ...] = ()
    """When the latest of these were, on the monotonic clock."""
    asked_back: bool = False
    """ "Did you say ...?" was already asked for what is being said now."""

    @property
    def step(self) -> Step | None:
        """The step being worked on."""
        return self.procedure.step(self.current) if self.current else None

    @property
    def shown_step(self) -> Step | None:
        """The step that questions such as "what size" are about."""
        return self.procedure.step(self.looking_at) if self.looking_at else self.step

    def energy_state(self, energy: str) -> EnergyState:
        """Live until isolated."""
        return self.energy.get(energy, EnergyState.LIVE)

    def is_done(self, step: str) -> bool:
        """Was the step really carried out?"""
        return step in self.settled and self.settled[step].how is How.DONE
