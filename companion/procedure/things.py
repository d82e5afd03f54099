"""The things a procedure tells of: hazards, items, seals, parts, energy, products, fasteners, readings.

The fields have their names in the file. `procedures/README.md` is made of them and the sentence under each.
"""

from datetime import timedelta
from enum import StrEnum
from typing import Annotated, Any, Self

from pydantic import AfterValidator, BeforeValidator, Field, PlainSerializer, model_validator

from companion.procedure.fasteners.fields import ClassName, Drive, MaterialName, Pattern, ThreadName, ToolSize
from companion.procedure.review import Review
from companion.procedure.short import shorthand
from companion.procedure.unit_table import MEASURED, UNITS
from companion.procedure.units import Angle, Torque, parse_duration
from companion.procedure.vocabulary.energies import EnergySource
from companion.procedure.vocabulary.kinds import ItemKind
from companion.procedure.vocabulary.known import one_of
from companion.procedure.vocabulary.part import Part, Text


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
Stage = Annotated[Torque | Angle, BeforeValidator(_stage), PlainSerializer(str)]
"""One stage of tightening: "20 N·m", or "90°" further."""
UnitName = Annotated[
    str,
    BeforeValidator(lambda text: UNITS[text].symbol if text in UNITS else text),
    AfterValidator(one_of(MEASURED)),
]
"""A unit that instruments have, by any of its symbols."""
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
"""Lower-case words joined by hyphens, such as "drain-oil"."""


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
    """One hazard: how grave it is, what it is, how to avoid it. It is read before the step.

    On one line: `CAUTION: Hot oil scalds. Wear gloves.`.
    """

    line = staticmethod(shorthand.hazard)

    signal: Signal
    """How grave it is. A step with DANGER or WARNING wants a spoken `state`."""
    hazard: Text
    """What can happen."""
    avoid: Text
    """What to do so that it does not happen."""


class Item(Part):
    """Something that a step opens and a later step must close.

    On one line: `air filter lid, panel, front left`.
    """

    line = staticmethod(shorthand.item)

    name: Text
    """What a mechanic calls it. It is said aloud."""
    kind: ItemKind
    """What kind of thing it is."""
    where: Text | None = None
    """Where it sits. It answers "where"."""
    releases: Text | None = None
    """How it lets go, for a connector or clip. "More" tells it."""
    protect: Text | None = None
    """What keeps dirt out while it is open. "More" tells it."""
    reached_through: tuple[Id, ...] | None = None
    """Items that hide it: while it is open, none of them is closed. Left out, all that was opened before it
    and is still open then; `[]` is none, as for a drain tap that can be reached from below."""
    circuit: Id | None = None
    """The circuit that a port, hose, joint or fluid belongs to, such as `oil` or `brake`. Left out, it counts
    for every circuit: while it is open nothing is filled, bled or run."""


class SealUse(StrEnum):
    """May a seal be used again?"""

    SINGLE = "single"
    """Never. A new one must be fitted."""
    INSPECT = "inspect"
    """Yes, if the mechanic looks at it and says that it is fit to use."""


class Seal(Part):
    """A gasket, ring or washer that a step disturbs.

    On one line: `cover gasket, single, part gasket-new, joint cover`.
    """

    line = staticmethod(shorthand.seal)

    name: Text
    """What a mechanic calls it. It is said aloud."""
    use: SealUse
    """May it be used again?"""
    part: Id | None = None
    """The new one, by its id in `parts`. A single-use seal needs it."""
    joint: Id | None = None
    """The item that must not be closed on the old seal. A single-use seal needs it."""


class BenchPart(Part):
    """A new part that should be on the bench before the job starts.

    On one line: `2 × copper washer, single use`.
    """

    line = staticmethod(shorthand.bench_part)

    name: Text
    """What to ask the parts counter for."""
    count: Annotated[int, Field(ge=1, le=200)] = 1
    """How many."""
    single_use: bool = False
    """It replaces a seal or bolt that is used once. The companion asks for it before the job starts."""


class Measure(Part):
    """A value to be read off and spoken, with its limits. A value at the limit passes.

    On one line: `smallest clearance, 0.15 to 0.25 mm`.
    """

    line = staticmethod(shorthand.measure)

    what: Text
    """What is measured."""
    unit: UnitName
    """The unit of the reading."""
    at_least: float | None = None
    """The lowest value that passes."""
    at_most: float | None = None
    """The highest value that passes. A proof by volts or pressure needs it."""


class Energy(Part):
    """One energy source that the job isolates, proves dead and restores.

    On one line: `the battery, battery, wait 3 min, between the two leads, at most 0.5 V`.
    """

    line = staticmethod(shorthand.energy)

    name: Text
    """What a mechanic calls it. It is said aloud."""
    source: EnergySource
    """What kind of energy it is."""
    wait: Duration | None = None
    """From isolating to proving: the maker's value. There is no default."""
    prove: Measure | None = None
    """The reading that proves it dead. Without one, the spoken `state` of the proving step does."""
    circuit: Id | None = None
    """The circuit that restoring it puts under pressure, for hydraulic, cooling and fuel pressure."""
    review: tuple[Review, ...] = ()
    """What is not known of it yet."""


class ClockStart(StrEnum):
    """When the cure of a product starts."""

    APPLICATION = "application"
    """When it is put on."""
    ASSEMBLY = "assembly"
    """When the joint is closed on it."""


class Consumable(Part):
    """A product with data-sheet times: a sealant, a thread lock."""

    name: Text
    """What a mechanic calls it. It is said aloud."""
    product_class: Text
    """What sort of product it is, for the reader."""
    clock_starts: ClockStart = ClockStart.ASSEMBLY
    """When the cure starts."""
    skin_over: Duration | None = None
    """Longest time from putting it on to closing the joint. Later the joint is refused."""
    handling: Duration | None = None
    """After this the assembly may be moved, not loaded."""
    full_cure: Duration
    """After this fluid may go in, at the conditions of the data sheet."""
    reference_temperature: Annotated[float, Field(ge=-40, le=200)] | None = None
    """°C of the data sheet. A colder workshop lengthens the cure."""
    reference_humidity: Annotated[float, Field(ge=0, le=100)] | None = None
    """% relative humidity of the data sheet, for what cures by moisture. Drier air lengthens the cure."""
    reference_depth: Annotated[float, Field(gt=0)] | None = None
    """mm of bead that `full_cure` is stated for. A deeper bead takes longer."""


class Cure(Part):
    """Which product a step puts on, and how thick."""

    consumable: Id
    """The product, by its id in `consumables`."""
    depth: Annotated[float, Field(gt=0)] | None = None
    """mm of this bead. It needs `reference_depth` of the product."""


class Fastener(Part):
    """Fasteners of one kind that a step handles.

    On one line: `2 × cover bolts M6 hex 10, 8 N·m, bag one`.
    """

    line = staticmethod(shorthand.fastener)

    what: Text
    """What a mechanic calls them, in the plural where there are several."""
    thread: ThreadName | None = None
    """The thread: metric, with its pitch where that is fine, or UNC, UNF, BSP, NPT."""
    hex: ToolSize | None = None
    """Across the flats of an outside hexagon. One drive only: this, `socket_hex`, `six_lobe` or `driver`."""
    socket_hex: ToolSize | None = None
    """Across the flats of an inside hexagon."""
    six_lobe: Annotated[str, Field(pattern=r"^[TE]\d+$")] | None = None
    """T (inside) or E (outside) size."""
    driver: Drive | None = None
    """Any other drive: a cross, a slot, a square, a spline."""
    count: Annotated[int, Field(ge=1, le=200)] = 1
    """How many. It answers "how many"."""
    class_: ClassName | None = Field(default=None, alias="class")
    """The property class, such as 8.8. With it the torque is compared with what such a bolt bears."""
    material: MaterialName | None = None
    """What they run in. Left out, it is taken for steel."""
    torque: TorqueValue | None = None
    """What they are tightened to, when it is one value."""
    stages: tuple[Stage, ...] = ()
    """Torques and angles in order, instead of `torque`. Each is told and confirmed by itself."""
    pattern: Pattern | None = None
    """How they sit, such as `circle of 5`. From it the order of tightening is worked out."""
    sequence: Text | None = None
    """In which order to go round them, where `pattern` does not tell."""
    bag: Text | None = None
    """Where they are kept meanwhile."""
    renew: bool = False
    """New ones must be fitted."""

    @model_validator(mode="after")
    def _pattern_fits(self) -> Self:
        if self.pattern and len(self.pattern.places) != self.count:
            raise ValueError(
                f"`pattern` is of {len(self.pattern.places)} and `count` is {self.count}; correct one"
            )
        return self

    @property
    def tightening(self) -> tuple[Torque | Angle, ...]:
        """The stages, or the one torque, or nothing."""
        return self.stages or ((self.torque,) if self.torque else ())

    @property
    def order_round(self) -> str | None:
        """In which order to go round them: as written, else as their pattern tells."""
        return self.sequence or (self.pattern.sequence if self.pattern else None)
