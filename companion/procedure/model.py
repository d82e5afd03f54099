"""A procedure: what is to be done to one assembly, step by step, taking apart and putting back.

The names of the fields are the names in the YAML file, in speech and in the docs.
"""

from datetime import timedelta
from enum import StrEnum
from typing import Annotated, Any, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer

from companion.procedure.units import Angle, Torque, parse_duration


def _duration(value: Any) -> Any:
    if isinstance(value, int | float):
        raise ValueError(f"duration {value} has no unit; write '{value} s' or '{value} min'")
    return parse_duration(value) if isinstance(value, str) else value


def _torque(value: Any) -> Any:
    if isinstance(value, int | float):
        raise ValueError(f"torque {value} has no unit; write '{value} N·m'")
    return Torque.parse(value) if isinstance(value, str) else value


def _stage(value: Any) -> Any:
    if isinstance(value, str) and ("°" in value or "deg" in value):
        return Angle.parse(value)
    return _torque(value)


Duration = Annotated[timedelta, BeforeValidator(_duration)]
"""Written "4 min", "1 h 30 min" or ISO 8601 "PT90M"."""
TorqueValue = Annotated[Torque, BeforeValidator(_torque), PlainSerializer(str)]
"""Written "25 N·m"; other units are refused."""
Stage = Annotated[Torque | Angle, BeforeValidator(_stage), PlainSerializer(str)]
"""One stage of tightening: "20 N·m", or "90°" further."""
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
"""Lower-case words joined by hyphens, such as "drain-oil"."""
Text = Annotated[str, Field(min_length=1, max_length=600)]


class Part(BaseModel):
    """Every noun below forbids unknown keys, so that a typing mistake is an error."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        arbitrary_types_allowed=True,
        allow_inf_nan=False,
        str_strip_whitespace=True,
    )


class Act(StrEnum):
    """The kind of act a step is."""

    ISOLATE = "isolate"
    RESTORE = "restore"
    REMOVE = "remove"
    DISCONNECT = "disconnect"
    INSPECT = "inspect"
    CLEAN = "clean"
    APPLY = "apply"
    FIT = "fit"
    CONNECT = "connect"
    TIGHTEN = "tighten"
    DRAIN = "drain"
    FILL = "fill"
    WAIT = "wait"
    VERIFY = "verify"


class Signal(StrEnum):
    """Signal words as ANSI Z535 defines them."""

    DANGER = "DANGER"
    """Will result in death or serious injury if not avoided."""
    WARNING = "WARNING"
    """Could result in death or serious injury."""
    CAUTION = "CAUTION"
    """Could result in minor or moderate injury."""
    NOTICE = "NOTICE"
    """Not about injury."""


class Hazard(Part):
    """One hazard: signal word, what it is, how to avoid it."""

    signal: Signal
    hazard: Text
    avoid: Text


class ItemKind(StrEnum):
    """What kind of thing was opened, and so must be closed."""

    CONNECTOR = "connector"
    HOSE = "hose"
    PORT = "port"
    JOINT = "joint"
    FASTENERS = "fasteners"
    PANEL = "panel"
    PART = "part"
    FLUID = "fluid"
    SUPPORT = "support"


class Item(Part):
    """Something that a step opens and a later step must close."""

    name: Text
    kind: ItemKind
    where: Text | None = None
    releases: Text | None = None
    """How it lets go, for a connector or clip."""
    protect: Text | None = None
    """What keeps things out of an open port."""


class SealUse(StrEnum):
    """May a seal be used again?"""

    SINGLE = "single"
    INSPECT = "inspect"


class Seal(Part):
    """A gasket, ring or washer that a step disturbs."""

    name: Text
    use: SealUse
    part: Id | None = None
    """The id of the replacement in `parts`; needed for a single-use seal."""
    joint: Id | None = None
    """The item whose refitting is refused until this seal is renewed or passed."""


class BenchPart(Part):
    """A new part that should be on the bench before the job starts."""

    name: Text
    count: Annotated[int, Field(ge=1, le=200)] = 1
    single_use: bool = False


class EnergySource(StrEnum):
    """Kinds of energy that can hurt someone during the job."""

    BATTERY = "battery"
    FUEL_PRESSURE = "fuel pressure"
    COOLING_PRESSURE = "cooling pressure"
    HYDRAULIC = "hydraulic"
    STORED_SPRING = "stored spring"
    AIRBAG = "airbag"
    HIGH_VOLTAGE = "high voltage"
    VEHICLE_SUPPORT = "vehicle support"
    HOT_FLUID = "hot fluid"


class Measure(Part):
    """A value to be read off and spoken, with its limits (inclusive)."""

    what: Text
    unit: Annotated[str, Field(pattern=r"^(V|mm|°C|bar|kPa|N·m|L|Ω|%)$")]
    at_least: float | None = None
    at_most: float | None = None


class Energy(Part):
    """One energy source that the job isolates, proves dead and restores."""

    name: Text
    source: EnergySource
    wait: Duration | None = None
    """After isolating, before proving: the maker's value. There is no default."""
    prove: Measure | None = None
    """The reading that proves it dead; without one, a spoken state proves it."""


class ClockStart(StrEnum):
    """When the cure of a product starts."""

    APPLICATION = "application"
    ASSEMBLY = "assembly"


class Consumable(Part):
    """A product with data-sheet times."""

    name: Text
    product_class: Text
    clock_starts: ClockStart = ClockStart.ASSEMBLY
    skin_over: Duration | None = None
    """Longest delay from application to assembly."""
    handling: Duration | None = None
    """After this the assembly may be moved, not loaded."""
    full_cure: Duration
    """After this fluid may go in, at the reference conditions."""
    reference_temperature: Annotated[float, Field(ge=-40, le=200)] | None = None
    """°C, of the data sheet."""
    reference_humidity: Annotated[float, Field(ge=0, le=100)] | None = None
    """% relative humidity, of the data sheet."""
    reference_depth: Annotated[float, Field(gt=0)] | None = None
    """mm of bead or flange path that the full-cure time is stated for."""


class Cure(Part):
    """A step starts the cure of a product."""

    consumable: Id
    depth: Annotated[float, Field(gt=0)] | None = None
    """mm of this bead or flange path; deeper than the data sheet's only lengthens the wait."""


class Fastener(Part):
    """Fasteners of one kind handled in a step."""

    what: Text
    thread: Annotated[str, Field(pattern=r"^M\d+(\.\d+)?(x\d+(\.\d+)?)?$")] | None = None
    hex: Annotated[float, Field(gt=0)] | None = None
    """mm across flats, outside hexagon."""
    socket_hex: Annotated[float, Field(gt=0)] | None = None
    """mm, inside hexagon."""
    six_lobe: Annotated[str, Field(pattern=r"^[TE]\d+$")] | None = None
    """T (inside) or E (outside) size."""
    count: Annotated[int, Field(ge=1, le=200)] = 1
    torque: TorqueValue | None = None
    stages: tuple[Stage, ...] = ()
    """Torques and angles in order; instead of `torque`."""
    sequence: Text | None = None
    bag: Text | None = None
    """Where the fasteners are kept meanwhile."""
    renew: bool = False
    """New ones must be fitted."""

    @property
    def tightening(self) -> tuple[Torque | Angle, ...]:
        """The stages, or the one torque, or nothing."""
        return self.stages or ((self.torque,) if self.torque else ())


class Step(Part):
    """One step, as it is read aloud."""

    id: Id
    act: Act
    say: Text
    more: Text | None = None
    book: Duration
    """Book time, for someone who knows the job."""
    where: Text | None = None
    tools: tuple[Text, ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    opens: tuple[Id, ...] = ()
    closes: tuple[Id, ...] = ()
    isolates: Id | None = None
    proves: Id | None = None
    restores: Id | None = None
    needs_isolated: tuple[Id, ...] = ()
    disturbs: tuple[Id, ...] = ()
    """Seals."""
    renews: tuple[Id, ...] = ()
    """Seals: a new one fitted, or an inspected one passed."""
    applies: Cure | None = None
    """This step applies the product."""
    assembles: Id | None = None
    """The id of the step whose product this step closes the joint on."""
    waits_for: tuple[Id, ...] = ()
    """Ids of steps whose cure must be complete first."""
    hazards: tuple[Hazard, ...] = ()
    state: Text | None = None
    """Words that confirm this step, such as "battery disconnected"."""
    measure: Measure | None = None
    count: Annotated[int, Field(ge=2, le=60)] | None = None
    """The act is done this many times, each counted by voice."""
    each: Text | None = None
    """What is counted."""
    wait: Duration | None = None
    """A fixed wait that this step is, for the act `wait`."""
    optional: Text | None = None
    """The question that decides whether the step is wanted, such as "While it is off: ...?"."""
    only_if: Id | None = None
    """The optional step that must have been wanted."""
    after: tuple[Id, ...] | None = None
    """Predecessors; by default the step before in the file."""

    @property
    def needs_spoken_state(self) -> bool:
        """Never a bare "done": a DANGER or WARNING step, an isolation, a proof, a restoration."""
        grave = any(h.signal in (Signal.DANGER, Signal.WARNING) for h in self.hazards)
        return grave or bool(self.isolates or self.proves or self.restores)


class FollowUp(Part):
    """Something due after the job is closed, whichever of time, distance and heat cycles comes first."""

    what: Text
    after: Duration | None = None
    """With `heat_cycles`: when to ask whether they have been, since no clock can tell."""
    distance_km: Annotated[int, Field(ge=1)] | None = None
    heat_cycles: Annotated[int, Field(ge=1, le=100)] | None = None
    """So often warmed through and cooled down again."""


class Procedure(Part):
    """A whole procedure."""

    title: Text
    revision: Text
    applies_to: Annotated[tuple[Text, ...], Field(min_length=1)]
    source_of_torques: Text
    cautions: tuple[Hazard, ...] = ()
    tools: tuple[Text, ...] = ()
    parts: dict[Id, BenchPart] = {}
    consumables: dict[Id, Consumable] = {}
    energy: dict[Id, Energy] = {}
    items: dict[Id, Item] = {}
    seals: dict[Id, Seal] = {}
    steps: Annotated[tuple[Step, ...], Field(min_length=1, max_length=400)]
    follow_ups: tuple[FollowUp, ...] = ()

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

    def model_post_init(self, context: Any, /) -> None:
        object.__setattr__(self, "_steps_by_id", {s.id: (n, s) for n, s in enumerate(self.steps)})

    @property
    def _index(self) -> dict[str, tuple[int, Step]]:
        index: dict[str, tuple[int, Step]] = self.__dict__["_steps_by_id"]
        return index

    @classmethod
    def from_data(cls, data: Any) -> Self:
        """Validate plain data (pydantic's ValidationError on failure)."""
        return cls.model_validate(data)
