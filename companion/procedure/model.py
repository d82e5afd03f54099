"""A procedure: what is to be done to one assembly, step by step, taking apart and putting back.

`procedures/README.md` is made from the fields here and in `things.py`.
"""

from collections.abc import Callable
from enum import StrEnum
from typing import Annotated, Any, Self, TypeVar

from pydantic import BeforeValidator, Field, model_validator

from companion.procedure.review import Asked, Review
from companion.procedure.short.shorthand import one_or_more
from companion.procedure.short.steps import filled_in
from companion.procedure.things import (
    BenchPart,
    ClockStart,
    Consumable,
    Cure,
    Duration,
    Energy,
    Fastener,
    Hazard,
    Id,
    Item,
    Measure,
    Seal,
    SealUse,
    Signal,
)
from companion.procedure.vocabulary.energies import EnergySource
from companion.procedure.vocabulary.kinds import ItemKind
from companion.procedure.vocabulary.part import Part, Text

__all__ = [
    "Act",
    "Asked",
    "BenchPart",
    "ClockStart",
    "Consumable",
    "Cure",
    "Energy",
    "EnergySource",
    "Fastener",
    "FollowUp",
    "Hazard",
    "Item",
    "ItemKind",
    "Measure",
    "Procedure",
    "Review",
    "Seal",
    "SealUse",
    "Signal",
    "Step",
]

V = TypeVar("V")


class Act(StrEnum):
    """The kind of act a step is. One step does one act."""

    ISOLATE = "isolate"
    """Make an energy source safe. Needs `isolates`, or `proves` when it only proves."""
    RESTORE = "restore"
    """Bring an energy source back. Needs `restores`."""
    REMOVE = "remove"
    """Take something off or out."""
    DISCONNECT = "disconnect"
    """Part a connector, hose or cable."""
    INSPECT = "inspect"
    """Look at something."""
    CLEAN = "clean"
    """Clean a face or a part."""
    APPLY = "apply"
    """Put a product on."""
    FIT = "fit"
    """Put something on or in."""
    CONNECT = "connect"
    """Join a connector, hose or cable."""
    TIGHTEN = "tighten"
    """Tighten to a torque. Needs `fasteners` with a `torque` or `stages`."""
    DRAIN = "drain"
    """Let a fluid out."""
    FILL = "fill"
    """Put a fluid in."""
    WAIT = "wait"
    """Wait. Needs `wait`, or `waits_for` a cure."""
    VERIFY = "verify"
    """Measure, or prove."""


class Step(Part):
    """One step, as it is read aloud."""

    id: Id
    """The name by which other steps mean this one. It is never spoken. Left out, it is made of its words;
    write it where those may change, since times are kept by it."""
    act: Act
    """The kind of act."""
    say: Text
    """What is read aloud: one instruction, short enough to keep in mind."""
    more: Text | None = None
    """What "more" tells: how, why, what to look out for."""
    book: Duration
    """How long it takes someone who knows the job. Quotes start from it. Left out, it is guessed from the act
    and the fasteners, and marked so."""
    book_estimated: bool = False
    """The companion writes this itself where it guessed `book`."""
    where: Text | None = None
    """Where it is done. It answers "where"."""
    tools: tuple[Text, ...] = ()
    """What is needed. It answers "what tools"."""
    fasteners: Annotated[tuple[Fastener, ...], BeforeValidator(one_or_more)] = ()
    """What is undone or tightened."""
    opens: tuple[Id, ...] = ()
    """Items that this step opens. The ledger keeps them until they are closed."""
    closes: tuple[Id, ...] = ()
    """Items that this step closes."""
    isolates: Id | None = None
    """The energy source that this step makes safe. Its `wait` starts."""
    proves: Id | None = None
    """The energy source that this step proves dead, by its reading or a spoken state."""
    restores: Id | None = None
    """The energy source that this step brings back. What was opened under it must be closed."""
    needs_isolated: tuple[Id, ...] = ()
    """Energy sources that must be proved dead before this step is read."""
    disturbs: tuple[Id, ...] = ()
    """Seals that this step disturbs. Each must be renewed or passed before its joint is closed."""
    renews: tuple[Id, ...] = ()
    """Seals that this step renews, or looks at and passes."""
    circuits: tuple[Id, ...] | None = None
    """Circuits that this step fills, bleeds or puts under pressure, such as `[brake]`. It waits while a port,
    hose, joint or fluid of one is open. `[]` says that it does none of this, though it sounds like it."""
    runs_engine: bool | None = None
    """Does the engine run in this step? Then it waits for every circuit, or for those in `circuits`. `false`
    says that it does not, though it sounds like it."""
    leaves_open: tuple[Id, ...] = ()
    """Items that may stay open while this step is done, such as the fluid cap while bleeding."""
    may_be_left_out: bool | None = None
    """May what this step puts back, tightens or fills be left out for good? Where this is not said, it may,
    unless the words tell of brakes, steering, wheels or suspension. `true` says yes, `false` never.
    """
    applies: Cure | None = None
    """The product that this step puts on."""
    assembles: Id | None = None
    """The step whose product this step closes the joint on. It is refused once that has skinned over."""
    waits_for: tuple[Id, ...] = ()
    """Steps whose cure must be over first: those at which its clock starts."""
    hazards: Annotated[tuple[Hazard, ...], BeforeValidator(one_or_more)] = ()
    """What can go wrong here. Read before the step."""
    state: Text | None = None
    """Two or more words that confirm this step. "Done" does not."""
    measure: Measure | None = None
    """A value that is spoken and read back before the step is done."""
    count: Annotated[int, Field(ge=2, le=60)] | None = None
    """The act is done this many times, each counted aloud."""
    each: Text | None = None
    """What is counted. It goes with `count`."""
    wait: Duration | None = None
    """How long this step waits, for the act `wait` alone."""
    optional: Text | None = None
    """A question, answered yes or no, that decides whether the step is wanted."""
    only_if: Id | None = None
    """The optional step without which this one falls away."""
    review: tuple[Review, ...] = ()
    """What is not known of this step yet."""
    after: tuple[Id, ...] | None = None
    """Steps that come first. Left out, it is the step before in the file; `[]` is none."""

    @property
    def needs_spoken_state(self) -> bool:
        """Never a bare "done": a DANGER or WARNING step, an isolation, a proof, a restoration."""
        grave = any(h.signal in (Signal.DANGER, Signal.WARNING) for h in self.hazards)
        return grave or bool(self.isolates or self.proves or self.restores)


class FollowUp(Part):
    """Something due after the job is closed, whichever of time, distance and heat cycles comes first."""

    what: Text
    """What is to be done then."""
    after: Duration | None = None
    """So long after the job. With `heat_cycles`, when to ask whether they have been: no clock can tell."""
    distance_km: Annotated[int, Field(ge=1)] | None = None
    """So many km after the job."""
    heat_cycles: Annotated[int, Field(ge=1, le=100)] | None = None
    """So often warmed through and cooled down again. It needs `after`."""


class Procedure(Part):
    """A whole procedure: the keys at the left edge of the file."""

    title: Text
    """What the job is called. It is said, shown, and part of the log's name."""
    revision: Text = "1"
    """Which issue of this procedure it is. Raise it when you change anything."""
    applies_to: Annotated[tuple[Text, ...], Field(min_length=1)]
    """The vehicles it is for."""
    source_of_torques: Text
    """Where torques and limits come from, for the reader: the maker's manual and its date."""
    cautions: Annotated[tuple[Hazard, ...], BeforeValidator(one_or_more)] = ()
    """Hazards of the whole job. They are read whenever it is taken up."""
    tools: tuple[Text, ...] = ()
    """What to lay out beforehand, for the reader."""
    parts: dict[Id, BenchPart] = Field(default_factory=dict)
    """New parts, each under its id."""
    consumables: dict[Id, Consumable] = Field(default_factory=dict)
    """Products with data-sheet times, each under its id."""
    energy: dict[Id, Energy] = Field(default_factory=dict)
    """Energy sources, each under its id."""
    items: dict[Id, Item] = Field(default_factory=dict)
    """What is opened and closed, each under its id."""
    seals: dict[Id, Seal] = Field(default_factory=dict)
    """Seals that are disturbed, each under its id."""
    steps: Annotated[tuple[Step, ...], Field(min_length=1, max_length=1000)]
    """The steps, in the order of the work."""
    follow_ups: tuple[FollowUp, ...] = ()
    """What is due after the job."""
    review: tuple[Review, ...] = ()
    """What is not known of the whole job yet."""

    def step(self, step_id: str) -> Step:
        """The step of that id (KeyError if there is none)."""
        return self._index[step_id][1]

    def number(self, step_id: str) -> int:
        """Its number as spoken, from 1 in file order."""
        return self._index[step_id][0] + 1

    def predecessors(self, step_id: str) -> tuple[str, ...]:
        """Ids that come before: `after`, or the step before in the file."""
        position, step = self._index[step_id]
        if step.after is not None:
            return step.after
        return (self.steps[position - 1].id,) if position else ()

    @model_validator(mode="before")
    @classmethod
    def _fill_in(cls, data: Any) -> Any:
        return filled_in(data)

    def model_post_init(self, context: Any, /) -> None:
        object.__setattr__(self, "_steps_by_id", {s.id: (n, s) for n, s in enumerate(self.steps)})
        object.__setattr__(self, "_worked_out", {})

    def once(self, work: Callable[["Procedure"], V]) -> V:
        """What `work` makes of this procedure. It is called once, and its result kept."""
        kept: dict[Callable[[Procedure], V], V] = self.__dict__["_worked_out"]
        if work not in kept:
            kept[work] = work(self)
        return kept[work]

    @property
    def _index(self) -> dict[str, tuple[int, Step]]:
        index: dict[str, tuple[int, Step]] = self.__dict__["_steps_by_id"]
        return index

    @classmethod
    def from_data(cls, data: Any) -> Self:
        """Validate plain data (pydantic's ValidationError on failure)."""
        return cls.model_validate(data)
