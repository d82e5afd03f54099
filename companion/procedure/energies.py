"""What is said of an energy source, in the words of its kind: dead, cool, gone, at rest, firm."""

from collections.abc import Mapping
from dataclasses import dataclass

from companion.procedure.model import Energy, EnergySource
from companion.procedure.nouns import the, verb


@dataclass(frozen=True)
class EnergyWords:
    """Clauses about one source: `{it}` is the source with its article, `{is}` the verb that fits."""

    live: str
    """As long as nothing has been done about it."""
    isolated: str
    """Isolated, and not proved, or not any more."""
    standing: str
    """Isolated and proved, told as where things stand."""
    proved: str
    """What the proof shows; also after "prove that"."""
    unproved: str
    """Why later work cannot begin."""
    restored: str
    still: str
    """What a failed proof shows."""
    isolate_again: str
    needed: str
    """What later work needs, as in "needs the battery disconnected"."""
    wait: str = "isolation wait for {it}"
    """The maker's wait between isolating and proving."""


def energy_words(energy: Energy) -> EnergyWords:
    """The words for this source, with its name in them."""
    it = _it(energy)
    words = _WORDS[energy.source]
    told = {field: getattr(words, field).format(**{"it": it, "is": verb(it)}) for field in vars(words)}
    return EnergyWords(**told)


def _it(energy: Energy) -> str:
    """What the clauses speak of: the oil, not the hot oil; the vehicle, not the vehicle on its stands."""
    name = the(energy.name)
    match energy.source:
        case EnergySource.HOT_FLUID:
            return name.replace("the hot ", "the ", 1)
        case EnergySource.VEHICLE_SUPPORT:
            return name.split(" on ")[0] if " on " in name else "the vehicle"
        case EnergySource.FUEL_PRESSURE | EnergySource.COOLING_PRESSURE | EnergySource.HYDRAULIC:
            return name if "pressure" in name.lower() else f"the pressure in {name}"
        case _:
            return name


_PRESSURE = EnergyWords(
    live="{it} {is} not let off",
    isolated="{it} {is} let off, but not proved gone",
    standing="{it} {is} let off and gone",
    proved="{it} {is} gone",
    unproved="{it} {is} not proved gone",
    restored="{it} {is} back",
    still="{it} {is} still there",
    isolate_again="let it off again",
    needed="{it} gone",
)
_WORDS: Mapping[EnergySource, EnergyWords] = {
    EnergySource.BATTERY: EnergyWords(
        live="{it} {is} live",
        isolated="{it} {is} disconnected, but not proved dead",
        standing="{it} {is} disconnected and dead",
        proved="{it} {is} dead",
        unproved="{it} {is} not proved dead",
        restored="{it} {is} connected again",
        still="{it} {is} still live",
        isolate_again="disconnect it again",
        needed="{it} disconnected",
    ),
    EnergySource.HIGH_VOLTAGE: EnergyWords(
        live="{it} {is} live",
        isolated="{it} {is} switched off, but not proved dead",
        standing="{it} {is} switched off and dead",
        proved="{it} {is} dead",
        unproved="{it} {is} not proved dead",
        restored="{it} {is} on again",
        still="{it} {is} still live",
        isolate_again="switch it off again",
        needed="{it} switched off",
    ),
    EnergySource.FUEL_PRESSURE: _PRESSURE,
    EnergySource.COOLING_PRESSURE: _PRESSURE,
    EnergySource.HYDRAULIC: _PRESSURE,
    EnergySource.STORED_SPRING: EnergyWords(
        live="{it} {is} under load",
        isolated="{it} {is} secured, but not proved at rest",
        standing="{it} {is} secured and at rest",
        proved="{it} {is} at rest",
        unproved="{it} {is} not proved at rest",
        restored="{it} {is} under load again",
        still="{it} {is} still under load",
        isolate_again="secure it again",
        needed="{it} secured",
    ),
    EnergySource.AIRBAG: EnergyWords(
        live="{it} {is} armed",
        isolated="{it} {is} disarmed, but not proved safe",
        standing="{it} {is} disarmed and safe",
        proved="{it} {is} safe",
        unproved="{it} {is} not proved safe",
        restored="{it} {is} armed again",
        still="{it} {is} still armed",
        isolate_again="disarm it again",
        needed="{it} disarmed",
    ),
    EnergySource.VEHICLE_SUPPORT: EnergyWords(
        live="{it} {is} on its wheels",
        isolated="{it} {is} on its stands, but not proved firm",
        standing="{it} {is} firm on its stands",
        proved="{it} stands firm",
        unproved="{it} {is} not proved firm on its stands",
        restored="{it} {is} on its wheels again",
        still="{it} does not stand firm",
        isolate_again="lower it and support it again",
        needed="{it} on firm stands",
    ),
    EnergySource.HOT_FLUID: EnergyWords(
        live="{it} may be hot",
        isolated="{it} {is} not proved cool",
        standing="{it} {is} cool",
        proved="{it} {is} cool",
        unproved="{it} {is} not proved cool",
        restored="{it} may be hot again",
        still="{it} {is} still hot",
        isolate_again="let it cool",
        needed="{it} cool",
        wait="cooling wait for {it}",
    ),
}
